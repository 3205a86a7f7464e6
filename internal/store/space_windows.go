package store

import "golang.org/x/sys/windows"

// freeBytes is how many bytes the user of the process may still write to the disk of a folder.
func freeBytes(dir string) (n uint64, known bool) {
	name, err := windows.UTF16PtrFromString(dir)
	if err != nil {
		return 0, false
	}
	err = windows.GetDiskFreeSpaceEx(name, &n, nil, nil)
	return n, err == nil
}
