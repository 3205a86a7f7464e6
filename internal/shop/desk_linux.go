package shop

import "syscall"

// standBack lets every other thread run before this one. It may fail, as in a sandbox that does not allow it: then it runs as all others.
func standBack() { _ = syscall.Setpriority(syscall.PRIO_PROCESS, 0, 19) }
