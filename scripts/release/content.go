package main

import (
	"bytes"
	"fmt"
	"io/fs"
	"os"
	"os/exec"
	"path"
	"path/filepath"
	"slices"
	"strings"

	"sagitta/internal/cli"
	"sagitta/internal/demo"
)

// file is one that goes into an archive.
type file struct {
	name string // with slashes
	text []byte
	run  bool // it is a program
}

// archiveOf builds the tool for a system and gives the name and the bytes of its archive.
func archiveOf(root, system string) (string, []byte, error) {
	b, err := build(root, system)
	if err != nil {
		return "", nil, err
	}
	if b.setting("vcs.revision") == "" || b.setting("vcs.modified") == "true" {
		fmt.Fprintf(os.Stderr, "release: caution: %s is not built of a commit as it is\n", system)
	}
	files, err := content(root, b)
	if err != nil {
		return "", nil, err
	}
	at, err := b.when()
	if err != nil {
		return "", nil, err
	}
	folder := "sagitta-" + cli.Version + "-" + strings.ReplaceAll(system, "/", "-")
	for i := range files {
		files[i].name = path.Join(folder, files[i].name)
	}
	slices.SortFunc(files, func(a, b file) int { return strings.Compare(a.name, b.name) })
	if b.setting("GOOS") == "windows" {
		archive, err := zipped(files, at)
		return folder + ".zip", archive, err
	}
	archive, err := tarred(files, at)
	return folder + ".tar.gz", archive, err
}

// content is what goes into the archive of a build.
func content(root string, b *built) ([]file, error) {
	name := "sagitta"
	if b.setting("GOOS") == "windows" {
		name += ".exe"
	}
	files := []file{{name: name, text: b.binary, run: true}}
	for _, name := range []string{"README.md", "CHANGELOG.md", "LICENSE", "docs/manual.md", "docs/programs.md", "docs/fields.md", "docs/panel.svg", "docs/chart.svg"} {
		text, err := os.ReadFile(filepath.Join(root, name))
		if err != nil {
			return nil, err
		}
		files = append(files, file{name: name, text: text})
	}
	notices, err := notices(root, b)
	if err != nil {
		return nil, err
	}
	files = append(files, file{name: "LICENSES-OF-PARTS.txt", text: notices})
	for _, p := range cli.Manual() {
		files = append(files, file{name: fmt.Sprintf("man/man%d/%s", p.Section, p.File()), text: p.Roff()})
	}
	for shell, name := range map[string]string{"bash": "sagitta.bash", "zsh": "_sagitta", "fish": "sagitta.fish", "powershell": "sagitta.ps1"} {
		var script bytes.Buffer
		if status := cli.Main([]string{"completion", shell}, nil, &script, os.Stderr); status != 0 {
			return nil, fmt.Errorf("completion %s: status %d", shell, status)
		}
		files = append(files, file{name: "completions/" + name, text: script.Bytes()})
	}
	examples, err := demo.Inputs()
	if err != nil {
		return nil, err
	}
	for name, text := range examples {
		files = append(files, file{name: "examples/" + name, text: text})
	}
	return files, nil
}

// notices are the licences of what the binary is made of besides the project itself:
// most ask to go with every copy.
func notices(root string, b *built) ([]byte, error) {
	var text bytes.Buffer
	add := func(what, dir string) error {
		found := false
		err := fs.WalkDir(os.DirFS(dir), ".", func(name string, d fs.DirEntry, err error) error {
			switch {
			case err != nil:
				return err
			case d.IsDir() && name != "." && !isLicence(name):
				return fs.SkipDir
			case d.IsDir() || !isLicence(name):
				return nil
			}
			licence, err := os.ReadFile(filepath.Join(dir, filepath.FromSlash(name)))
			fmt.Fprintf(&text, "%s: %s\n\n%s\n\n", what, name, bytes.TrimSpace(bytes.ReplaceAll(licence, []byte("\r"), nil)))
			found = true
			return err
		})
		if err == nil && !found {
			err = fmt.Errorf("no licence of %s in %s", what, dir)
		}
		return err
	}
	home, err := asked(root, "env", "GOROOT")
	if err != nil {
		return nil, err
	}
	if err := add("The Go language, its runtime and standard library, "+b.info.GoVersion, home); err != nil {
		return nil, err
	}
	list := []string{"list", "-m", "-f", "{{.Dir}}"}
	for _, m := range b.info.Deps {
		list = append(list, m.Path)
	}
	dirs, err := asked(root, list...)
	if err != nil {
		return nil, err
	}
	for i, dir := range strings.Split(dirs, "\n") {
		if err := add(b.info.Deps[i].Path+" "+b.info.Deps[i].Version, dir); err != nil {
			return nil, err
		}
	}
	return text.Bytes(), nil
}

// isLicence reports whether a file says under what terms a module stands, by its path in
// it: it is called so, or lies in a folder that is.
func isLicence(name string) bool {
	first, _, _ := strings.Cut(strings.ToUpper(name), "/")
	return slices.ContainsFunc([]string{"LICENSE", "LICENCE", "COPYING", "NOTICE", "PATENTS"}, func(w string) bool { return strings.Contains(first, w) }) &&
		path.Ext(first) != ".GO"
}

// asked is what the go command says.
func asked(root string, args ...string) (string, error) {
	c := exec.Command("go", args...)
	c.Dir, c.Stderr = root, os.Stderr
	out, err := c.Output()
	if err != nil {
		err = fmt.Errorf("go %s: %w", strings.Join(args, " "), err)
	}
	return strings.TrimSpace(string(out)), err
}
