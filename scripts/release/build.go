package main

import (
	"debug/buildinfo"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"runtime/debug"
	"strconv"
	"strings"
	"time"
)

// built is the tool for one system.
type built struct {
	binary []byte
	info   *debug.BuildInfo
}

// build makes it of the source at root. What else the environment or the settings of Go
// say does not count.
func build(root, system string) (*built, error) {
	goos, goarch, _ := strings.Cut(system, "/")
	dir, err := os.MkdirTemp("", "release")
	if err != nil {
		return nil, err
	}
	defer os.RemoveAll(dir)
	name := filepath.Join(dir, "sagitta")
	c := exec.Command("go", "build", "-o", name, "-trimpath", "-buildvcs=auto", "-mod=readonly",
		// No symbols; of the library of pictures no PDF, EPS or TeX, which are not drawn;
		// and no HTTP/2, which the desk's page on the computer itself does not take.
		"-ldflags", "-s -w", "-tags", "minimal,nethttpomithttp2", "./cmd/sagitta")
	c.Dir = root
	c.Env = append(os.Environ(), "GOOS="+goos, "GOARCH="+goarch, "CGO_ENABLED=0", "GOFLAGS=",
		"GOEXPERIMENT=", "GOAMD64=v1", "GOARM64=v8.0", "GOFIPS140=off", "GOWORK=off")
	c.Stderr = os.Stderr
	if err := c.Run(); err != nil {
		return nil, fmt.Errorf("go build: %w", err)
	}
	var b built
	if b.binary, err = os.ReadFile(name); err != nil {
		return nil, err
	}
	b.info, err = buildinfo.ReadFile(name)
	return &b, err
}

// setting is what the build was told, or found, "" if nothing.
func (b *built) setting(key string) string {
	for _, s := range b.info.Settings {
		if s.Key == key {
			return s.Value
		}
	}
	return ""
}

// when is the time that all files bear.
func (b *built) when() (time.Time, error) {
	if text := os.Getenv("SOURCE_DATE_EPOCH"); text != "" {
		s, err := strconv.ParseInt(text, 10, 64)
		if err != nil {
			return time.Time{}, fmt.Errorf("SOURCE_DATE_EPOCH is %q, not a number of seconds", text)
		}
		return time.Unix(s, 0).UTC(), nil
	}
	if text := b.setting("vcs.time"); text != "" {
		return time.Parse(time.RFC3339, text)
	}
	return time.Date(1980, 1, 1, 0, 0, 0, 0, time.UTC), nil // the earliest that ZIP has
}
