//go:build race

package picture

const raceOn = true
