package files

import (
	"io"
	"os"
	"time"

	"github.com/cheggaaa/pb/v3"
	"golang.org/x/term"
)

// progressAfter is how long work goes on before its progress is shown.
const progressAfter = time.Second

// progressLook is what is shown.
const progressLook = `{{percent . "%.0f%%"}} {{bar . "|" "#" "#" " " "|"}} {{speed . "%s/s" " "}}{{rtime . ", %s left" ", %s" ""}}`

// progress shows how far reading has come, on a terminal only. Messages are
// written through it, so that they do not stand in it.
type progress struct {
	stderr   io.Writer
	terminal bool
	bar      *pb.ProgressBar
}

func newProgress(stderr io.Writer) *progress {
	f, ok := stderr.(*os.File)
	return &progress{stderr: stderr, terminal: ok && term.IsTerminal(int(f.Fd()))}
}

// Write writes a message.
func (p *progress) Write(b []byte) (int, error) {
	p.clear()
	return p.stderr.Write(b)
}

// reader counts what is read through it.
func (p *progress) reader(r io.Reader, size int64) io.Reader {
	if !p.terminal {
		return r
	}
	return &counted{Reader: r, p: p, size: size, began: time.Now()}
}

// clear takes the bar off the screen.
func (p *progress) clear() {
	if p.bar != nil {
		p.bar.Finish()
		p.bar = nil
	}
}

type counted struct {
	io.Reader
	p     *progress
	size  int64
	done  int64
	began time.Time
}

func (c *counted) Read(b []byte) (int, error) {
	n, err := c.Reader.Read(b)
	c.done += int64(n)
	if c.p.bar == nil && c.done < c.size && time.Since(c.began) > progressAfter {
		c.p.bar = pb.ProgressBarTemplate(progressLook).New(0).SetTotal(c.size).SetWriter(c.p.stderr).
			Set(pb.Bytes, true).Set(pb.CleanOnFinish, true).Start()
	}
	if c.p.bar != nil {
		c.p.bar.SetCurrent(c.done)
	}
	return n, err
}
