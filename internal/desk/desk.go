package desk

import (
	"context"
	"crypto/rand"
	"errors"
	"fmt"
	"io"
	"net"
	"net/http"
	"os"
	"strconv"
	"time"

	"sagitta/internal/desk/choice"
	"sagitta/internal/desk/folder"
)

// Tool is what the desk works with: the commands of the tool.
type Tool struct {
	// Run runs a command line in the folder, and gives its exit status.
	Run func(ctx context.Context, args []string, stdout, stderr io.Writer) int
	// Options gives the options of a command, fresh each time.
	Options choice.Known
	// Quote writes a word as a shell takes it.
	Quote func(word string) string
}

// Desk is one run of the page, in the working directory.
type Desk struct {
	tool    Tool
	folder  *folder.Folder
	keep    *keeper
	runs    *runner
	reports *reports
	dir     string
	token   string
	drawn   jobs
	// Note is what a person is to be told from the beginning, "" for nothing.
	Note string
}

// New opens the desk in the working directory, which is to stay the same. Close ends it.
func New(tool Tool) (*Desk, error) {
	dir, err := os.Getwd()
	if err != nil {
		return nil, err
	}
	f, err := folder.Open(".")
	if err != nil {
		return nil, err
	}
	d := &Desk{tool: tool, folder: f, dir: dir, token: rand.Text(), reports: &reports{folder: f, open: map[string]string{}}}
	if d.keep, d.Note, err = newKeeper(f); err == nil {
		d.runs, err = newRunner(tool, f)
	}
	if err != nil {
		_ = f.Close()
		return nil, err
	}
	return d, nil
}

// Close lets go of the folder, and drops what was only tried.
func (d *Desk) Close() {
	d.runs.close()
	_ = d.folder.Close()
}

const (
	// headWithin is how long a browser may take to say what it wants.
	headWithin = 10 * time.Second
	// endsWithin is how long what is being written may take to its end once the desk is
	// to close; what is only tried ends at once.
	endsWithin = 8 * time.Second
)

// Listen takes a port of this computer alone, 0 for any, and gives the address of the page.
func (d *Desk) Listen(port int) (net.Listener, string, error) {
	l, err := net.Listen("tcp4", net.JoinHostPort("127.0.0.1", strconv.Itoa(port)))
	if err != nil {
		return nil, "", err
	}
	return l, fmt.Sprintf("http://%s/?token=%s", l.Addr(), d.token), nil
}

// Serve answers until ctx is done, and then finishes what it was asked for.
func (d *Desk) Serve(ctx context.Context, l net.Listener) error {
	s := &http.Server{
		Handler:           d.Handler(l.Addr().String()),
		ReadHeaderTimeout: headWithin,
		MaxHeaderBytes:    32 << 10,
	}
	done := make(chan error, 1)
	defer context.AfterFunc(ctx, func() {
		d.runs.forget()
		within, cancel := context.WithTimeout(context.WithoutCancel(ctx), endsWithin)
		defer cancel()
		err := s.Shutdown(within)
		if err != nil {
			d.runs.stop()
			err = s.Close()
		}
		done <- err
	})()
	if err := s.Serve(l); !errors.Is(err, http.ErrServerClosed) {
		return err
	}
	return <-done
}
