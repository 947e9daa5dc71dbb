package files

import (
	"os"

	"sagitta/internal/diag"
)

// temporary is a file of the tool's own.
type temporary struct {
	*os.File
	gone bool
}

func newTemporary() (*temporary, error) {
	file, err := os.CreateTemp("", "sagitta-*")
	if err != nil {
		return nil, diag.IOError(err)
	}
	// Gone from its folder at once where the system takes that of an open file,
	// so that no kill leaves it behind.
	return &temporary{file, os.Remove(file.Name()) == nil}, nil
}

// discard closes and removes the file. A second time it does nothing.
func (t *temporary) discard() {
	_ = t.Close()
	if !t.gone {
		t.gone = os.Remove(t.Name()) == nil
	}
}
