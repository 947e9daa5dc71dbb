package desk

import (
	"errors"
	"fmt"
	"io/fs"
	"sync"

	"sagitta/internal/desk/choice"
	"sagitta/internal/desk/folder"
)

// keptIn is the file of what was chosen and typed.
const keptIn = "desk.json"

// keeper keeps the choices, in memory and in the folder.
type keeper struct {
	folder *folder.Folder
	mu     sync.Mutex
	now    *choice.Choices
}

// newKeeper reads what was kept. A file that cannot be read is set aside, and the note
// says so: nothing that was typed is lost.
func newKeeper(f *folder.Folder) (*keeper, string, error) {
	k := &keeper{folder: f, now: choice.New()}
	if !f.Present(keptIn) {
		return k, "", nil
	}
	text, err := f.Read(keptIn, choice.MostBytes)
	if errors.Is(err, fs.ErrPermission) {
		return nil, "", err
	}
	var was *choice.Choices
	if err == nil {
		was, err = choice.Read(text)
	}
	if err == nil {
		k.now = was
		return k, "", nil
	}
	aside, moved := f.SetAside(keptIn)
	if moved != nil {
		return nil, "", fmt.Errorf("%s cannot be read (%w), and not be set aside: %w", keptIn, err, moved)
	}
	return k, fmt.Sprintf("%s, which has what was chosen and typed before, cannot be read: %v. It lies aside as %s, and all begins anew.", keptIn, err, aside), nil
}

// get gives the choices, which are not to be changed.
func (k *keeper) get() *choice.Choices {
	k.mu.Lock()
	defer k.mu.Unlock()
	return k.now
}

// put takes new choices, and keeps them in the folder.
func (k *keeper) put(c *choice.Choices) error {
	text, err := c.Text()
	if err != nil {
		return err
	}
	k.mu.Lock()
	defer k.mu.Unlock()
	if err := k.folder.Put(keptIn, text, true); err != nil {
		return fmt.Errorf("%s cannot be written: %w", keptIn, err)
	}
	k.now = c
	return nil
}
