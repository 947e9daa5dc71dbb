//go:build unix

package batch

import (
	"io/fs"
	"syscall"
)

// inode is the number by which the system knows a file.
func inode(info fs.FileInfo) uint64 {
	if s, ok := info.Sys().(*syscall.Stat_t); ok {
		return uint64(s.Ino)
	}
	return 0
}
