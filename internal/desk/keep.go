package desk

import (
	"errors"
	"fmt"
	"io/fs"
	"net/http"
	"strconv"
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
	// version counts how often they have changed: by it a page knows whether they are those
	// that it shows, as there may be several pages of a desk.
	version int
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

// get gives the choices, which are not to be changed, and their version.
func (k *keeper) get() (*choice.Choices, int) {
	k.mu.Lock()
	defer k.mu.Unlock()
	return k.now, k.version
}

// on wants the choices to be of the version that a request says it is of, if it says one.
func on(r *http.Request, version int) error {
	if shown := r.URL.Query().Get("on"); shown != "" && shown != strconv.Itoa(version) {
		return faultf(http.StatusPreconditionFailed, "another page of this desk has changed what is chosen: load this page again, and it has that")
	}
	return nil
}

// shown gives the choices that the page of a request shows.
func (k *keeper) shown(r *http.Request) (*choice.Choices, error) {
	c, version := k.get()
	return c, on(r, version)
}

// put takes the new choices of a request, and keeps them in the folder. It gives their version.
func (k *keeper) put(r *http.Request, c *choice.Choices) (int, error) {
	text, err := c.Text()
	if err != nil {
		return 0, err
	}
	k.mu.Lock()
	defer k.mu.Unlock()
	if err := on(r, k.version); err != nil {
		return 0, err
	}
	if err := k.folder.Put(keptIn, text, true); err != nil {
		return 0, fmt.Errorf("%s cannot be written: %w", keptIn, err)
	}
	k.now = c
	k.version++
	return k.version, nil
}
