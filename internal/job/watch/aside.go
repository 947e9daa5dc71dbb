package watch

import (
	"bytes"
	"fmt"
	"path/filepath"
	"strings"
	"time"

	"sagitta/internal/diag"
)

// againIn is after which time a job is tried again that could not be moved aside.
const againIn = time.Minute

// Reason is where the reason goes for which a job failed, and to where its file goes, which is
// "" for a program without a job: that stays where it is.
func (f *Folder) Reason(j *Job) (reason, to string) {
	if j.Program {
		return reasonOf(j.Name), ""
	}
	to = f.free(j.Name)
	return reasonOf(filepath.Base(to)), to
}

// reasonOf is the name of a reason. Names may have 255 bytes: of longer ones the middle goes.
func reasonOf(name string) string {
	if len(name) > 250 {
		name = name[:230] + name[len(name)-10:]
	}
	return filepath.Join(Failed, name+".txt")
}

// Aside moves the file of a job that failed out of the way.
func (f *Folder) Aside(j *Job, to string) error {
	if err := f.root.Rename(j.Name, to); err != nil {
		return diag.IOError(err)
	}
	f.mu.Lock()
	defer f.mu.Unlock()
	if f.entries[j.Name] == j.of {
		delete(f.entries, j.Name)
	}
	return nil
}

// Later has a job tried again later, that could not be moved aside.
func (f *Folder) Later(j *Job) {
	f.mu.Lock()
	defer f.mu.Unlock()
	j.of.phase, j.of.again = waits, time.Now().Add(againIn)
}

// Mended removes the reason of a time before for which a job failed that is done now, unless
// the job file of that time is still there too.
func (f *Folder) Mended(j *Job) {
	if j.Program || !f.Has(filepath.Join(Failed, j.Name)) {
		_ = f.root.Remove(reasonOf(j.Name))
	}
}

// free is a name for a job file among the failed ones: its own, or one with a number where
// there is another of that name that says something else.
func (f *Folder) free(name string) string {
	own, err := f.text(name)
	if err != nil {
		own = nil // whoever may not read it may still move it
	}
	ext := filepath.Ext(name)
	stem := strings.TrimSuffix(name, ext)
	for n := 1; ; n++ {
		to := filepath.Join(Failed, name)
		if n > 1 {
			to = filepath.Join(Failed, fmt.Sprintf("%s-%d%s", stem[:min(len(stem), 240)], n, ext))
		}
		if !f.Has(to) {
			return to
		}
		if there, err := f.text(to); own != nil && err == nil && bytes.Equal(there, own) && len(own) < mostBytes {
			return to
		}
	}
}
