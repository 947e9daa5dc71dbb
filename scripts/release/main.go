// Command release builds what operators get: for each system an archive that holds all
// that is needed, and the checksums of all of them.
//
//	go run ./scripts/release -o DIR [-only SYSTEM/PROCESSOR,...]
//
// The same source gives the same bytes, wherever it lies and whenever it is built, with
// the same version of Go. Files bear the time of the commit, or what SOURCE_DATE_EPOCH
// says (https://reproducible-builds.org/specs/source-date-epoch).
package main

import (
	"crypto/sha256"
	"errors"
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
)

// systems are those that benches run, each an operating system and a processor.
var systems = []string{"linux/amd64", "linux/arm64", "darwin/arm64", "windows/amd64"}

func main() {
	out := flag.String("o", "", "write the archives and SHA256SUMS to `DIR`")
	only := flag.String("only", strings.Join(systems, ","), "the `SYSTEMS` to build for")
	flag.Parse()
	if *out == "" || flag.NArg() > 0 {
		flag.Usage()
		os.Exit(2)
	}
	if err := release(".", *out, strings.Split(*only, ",")); err != nil {
		fmt.Fprintln(os.Stderr, "release:", err)
		os.Exit(1)
	}
}

// release builds the source at root for each system. Nothing is written unless all of it
// is there to be written.
func release(root, out string, systems []string) error {
	for _, system := range systems {
		if goos, goarch, _ := strings.Cut(system, "/"); goos == "" || goarch == "" {
			return fmt.Errorf("%q: wants an operating system and a processor, such as linux/amd64", system)
		}
	}
	made := map[string][]byte{}
	var names []string
	for _, system := range systems {
		name, archive, err := archiveOf(root, system)
		if err != nil {
			return fmt.Errorf("%s: %w", system, err)
		}
		made[name], names = archive, append(names, name)
	}
	slices.Sort(names)
	var sums strings.Builder
	for _, name := range names {
		fmt.Fprintf(&sums, "%x  %s\n", sha256.Sum256(made[name]), name)
	}
	const list = "SHA256SUMS"
	made[list] = []byte(sums.String())
	if err := os.MkdirAll(out, 0o777); err != nil {
		return err
	}
	var failed error
	for _, name := range append(names, list) {
		failed = errors.Join(failed, os.WriteFile(filepath.Join(out, name), made[name], 0o666))
	}
	fmt.Fprint(os.Stderr, sums.String())
	return failed
}
