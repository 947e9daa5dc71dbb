package batch

import (
	"io/fs"
	"syscall"
)

// changed is when the system changed a file last, bytes or what it knows of it, in ns since
// 1970: nobody sets that.
func changed(info fs.FileInfo) int64 {
	if s, ok := info.Sys().(*syscall.Stat_t); ok {
		return s.Ctim.Nano()
	}
	return 0
}
