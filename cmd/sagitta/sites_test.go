package main

import (
	"os"
	"testing"

	"pgregory.net/rapid"
)

// atSites draws benches with a job, each in a folder of its own that is the working
// folder meanwhile.
func atSites(t *testing.T, try func(rt *rapid.T, s *site)) {
	home, err := os.Getwd()
	if err != nil {
		t.Fatal(err)
	}
	rapid.Check(t, func(rt *rapid.T) {
		dir, err := os.MkdirTemp("", "site")
		if err != nil {
			rt.Fatal(err)
		}
		defer os.RemoveAll(dir)
		defer func() { _ = os.Chdir(home) }()
		if err := os.Chdir(dir); err != nil {
			rt.Fatal(err)
		}
		try(rt, drawSite(rt, dir))
	})
}
