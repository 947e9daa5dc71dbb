package files

import (
	"os"

	"golang.org/x/sys/unix"
)

// writeBack asks the system to begin writing a part of a file to the disk, so
// that the wait at the end is short. That it may not is no error: the end
// waits for all of it.
func writeBack(f *os.File, from, size int64) {
	_ = unix.SyncFileRange(int(f.Fd()), from, size, unix.SYNC_FILE_RANGE_WRITE)
}
