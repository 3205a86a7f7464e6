// Package draw makes pictures from a pump's own description: the section with the leak map, the packing stacks with their
// lips, curves against time, the order of work. Nothing in it knows one pump by name: what stands where follows from the
// chambers, valves, seals and outlets of the pump sheet.
//
// Every picture is one self-contained SVG: it has a title and a description for who cannot see it, needs no font, script or
// file, and carries its colours for light and dark (see Light and Dark). What a colour says is also said by a shape, a word or
// a number. Pictures of a fixed width come in two forms, Wide for a desk and paper, Narrow for a hand-held screen.
//
// Diameters of the section are to scale, lengths are not. Numbers are those of the result, written by package unit.
package draw
