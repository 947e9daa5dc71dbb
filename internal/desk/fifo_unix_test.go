//go:build unix

package desk_test

import (
	"syscall"
	"testing"
)

func fifo(t *testing.T, name string) {
	if err := syscall.Mkfifo(name, 0o644); err != nil {
		t.Skip(err)
	}
}
