package batch

import (
	"bytes"
	"encoding/json"
	"errors"
	"io"
	"io/fs"
	"math"
	"os"
	"slices"
	"strings"
	"sync"
	"time"

	"sagitta/internal/diag"
)

// Verdict is what became of a job.
type Verdict string

// The verdicts.
const (
	Flat        Verdict = "flat"
	Followed    Verdict = "followed"
	Split       Verdict = "split"
	Unchanged   Verdict = "unchanged" // there was nothing to do
	Refused     Verdict = "refused"   // it cannot be done so
	Failed      Verdict = "failed"    // it could not be read, or written
	Interrupted Verdict = "interrupted"
)

// Statuses of jobs: done, it does not hold, and asked to end.
const (
	Done    = 0
	NotHeld = 1
	Stopped = 130
)

// Outcome is what became of a job, and a line of the log.
type Outcome struct {
	Schema  int     `json:"schema"`
	Job     string  `json:"job"`
	Verdict Verdict `json:"verdict"`
	Status  int     `json:"status"`
	Seconds float64 `json:"seconds"`
	// Inputs and Outputs are digests of files by their names from the job file's folder.
	Inputs  map[string]string `json:"inputs"`
	Outputs map[string]string `json:"outputs"`
	// Messages are what the commands said, line by line.
	Messages []string `json:"messages"`
	// Result is what to burn, "" where nothing is made, and Why what went wrong.
	Result string `json:"-"`
	Why    string `json:"-"`
}

// worst is the order of statuses, the worst first.
var worst = []int{130, 4, 2, 3, 1, 0}

// Worst is the worst of statuses, 0 of none.
func Worst(list []Outcome) int {
	at := len(worst) - 1
	for i := range list {
		if k := slices.Index(worst, list[i].Status); k >= 0 {
			at = min(at, k)
		}
	}
	return worst[at]
}

// Log is a file to which a line is appended for each job.
type Log struct {
	mu   sync.Mutex
	file *os.File // nil for none
}

// OpenLog opens a log, or none for "".
func OpenLog(name string) (*Log, error) {
	if name == "" {
		return &Log{}, nil
	}
	f, err := os.OpenFile(name, os.O_WRONLY|os.O_APPEND|os.O_CREATE, 0o644)
	if info, e := f.Stat(); e == nil && info.Mode().IsRegular() { // to open a FIFO again would wait
		err = endLine(f, name)
	}
	if err != nil {
		if f != nil {
			f.Close()
		}
		if diag.As(err) == nil {
			err = diag.IOError(err)
		}
		return nil, err
	}
	return &Log{file: f}, nil
}

// logBegins is what every line of a log begins with.
const logBegins = `{"schema":`

// checkLog refuses to append to what is no log of jobs, as a job file, or a file that one
// names: the first line, of which a kill may have left a part, tells.
func checkLog(f io.ReaderAt, name string) error {
	first := make([]byte, len(logBegins))
	n, err := f.ReadAt(first, 0)
	if err != nil && err != io.EOF {
		return err
	}
	line, _, _ := bytes.Cut(first[:n], []byte("\n"))
	if n > 0 && len(line) == 0 || !strings.HasPrefix(logBegins, string(line)) {
		return diag.Errorf(diag.Setting, "give the log a name of its own", "%s is no log of jobs, and nothing is appended to it", name)
	}
	return nil
}

// endLine ends the last line of a log, if it is one, where a kill has cut it short, so that the
// next does not go on in it. It is not taken away, as other runs may write to the same log.
func endLine(f *os.File, name string) error {
	r, err := os.Open(name)
	if errors.Is(err, fs.ErrPermission) { // one may append to it without reading it
		return nil
	}
	if err != nil {
		return err
	}
	defer r.Close()
	if err := checkLog(r, name); err != nil {
		return err
	}
	size, open, err := openLine(r)
	if !open || err != nil {
		return err
	}
	time.Sleep(writesWithin)
	if now, open, err := openLine(r); !open || err != nil || now != size { // another run is at it
		return err
	}
	_, err = f.WriteString("\n")
	return err
}

// writesWithin is longer than a line that is being written is seen in part.
const writesWithin = 20 * time.Millisecond

// openLine gives the size of a file, and reports whether its last line has no end.
func openLine(f *os.File) (size int64, open bool, err error) {
	info, err := f.Stat()
	if err != nil || info.Size() == 0 {
		return 0, false, err
	}
	var last [1]byte
	_, err = f.ReadAt(last[:], info.Size()-1)
	return info.Size(), last[0] != '\n', err
}

// LogOf is a log called name that is open to be read and appended to, by nobody else. A last
// line that a kill has cut short goes.
func LogOf(f *os.File, name string) (*Log, error) {
	if err := checkLog(f, name); diag.As(err) != nil {
		return nil, err
	}
	end, err := f.Seek(0, io.SeekEnd)
	whole := end
	for buf := make([]byte, 64<<10); err == nil && whole > 0; {
		part := buf[:min(whole, int64(len(buf)))]
		if _, err = f.ReadAt(part, whole-int64(len(part))); err != nil {
			break
		}
		at := bytes.LastIndexByte(part, '\n') + 1
		if whole -= int64(len(part) - at); at > 0 {
			break
		}
	}
	if err == nil && whole < end {
		err = f.Truncate(whole)
	}
	if err != nil {
		return nil, diag.IOError(err)
	}
	return &Log{file: f}, nil
}

// Add appends the line of a job. It goes out in one write, so that lines of several runs
// do not mix; where it cannot go out whole, what went out is taken back.
func (l *Log) Add(o *Outcome) error {
	if l.file == nil {
		return nil
	}
	o.Seconds = math.Round(o.Seconds*1e4) / 1e4
	line, err := json.Marshal(o)
	if err != nil {
		return err
	}
	l.mu.Lock()
	defer l.mu.Unlock()
	n, err := l.file.Write(append(line, '\n'))
	if err == nil {
		return nil
	}
	if end, e := l.file.Seek(0, io.SeekEnd); e == nil && n > 0 {
		_ = l.file.Truncate(end - int64(n))
	}
	return diag.IOError(err)
}

// Is reports whether a file is that of the log.
func (l *Log) Is(info os.FileInfo) bool {
	if l == nil || l.file == nil {
		return false
	}
	own, err := l.file.Stat()
	return err == nil && os.SameFile(own, info)
}

// Close closes the log.
func (l *Log) Close() error {
	if l.file == nil {
		return nil
	}
	if err := l.file.Close(); err != nil {
		return diag.IOError(err)
	}
	return nil
}
