package shop

import "syscall"

// standBack lets other threads run before this one. Not by the most that there is (19): the collector of garbage has to wait until this
// thread is at a place where it can stop, and at 10 it gets there soon. It may fail, as in a sandbox that does not allow it: then it
// runs as all others.
func standBack() { _ = syscall.Setpriority(syscall.PRIO_PROCESS, 0, 10) }
