package about

import (
	"os/exec"
	"reflect"
	"runtime/debug"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func TestBuild(t *testing.T) {
	of := func(pairs ...string) *debug.BuildInfo {
		info := &debug.BuildInfo{GoVersion: "go1.99"}
		for i := 0; i < len(pairs); i += 2 {
			info.Settings = append(info.Settings, debug.BuildSetting{Key: pairs[i], Value: pairs[i+1]})
		}
		return info
	}
	const none = "sagitta 9.8.7\ncommit: not known"
	for _, c := range []struct {
		info *debug.BuildInfo
		want string
	}{
		{nil, none},
		{of(), none + ", it was built outside its repository\ntoolchain: go1.99"},
		{of("GOARCH", "arm64", "GOOS", "plan9", "vcs.revision", "abc", "vcs.time", "2001-02-03T04:05:06Z", "vcs.modified", "false"),
			"sagitta 9.8.7\ncommit: abc\ncommitted: 2001-02-03T04:05:06Z\nfiles: as committed\ntoolchain: go1.99\nsystem: plan9/arm64"},
		{of("vcs.revision", "abc", "vcs.modified", "true"),
			"sagitta 9.8.7\ncommit: abc\nfiles: changed since that commit\ntoolchain: go1.99"},
	} {
		if got := strings.Join(Build("9.8.7", c.info), "\n"); got != c.want {
			t.Errorf("got\n%s\nwant\n%s", got, c.want)
		}
	}
}

func TestOperands(t *testing.T) {
	program, csv, toml := FileOf("program"), FileOf("csv"), FileOf("toml")
	for _, c := range []struct {
		usage string
		want  []Value
		more  bool
	}{
		{"demo", nil, false},
		{"follow PROGRAM -s SURFACE (-l LENS | --sharp D)", []Value{program}, false},
		{"advise PROGRAM -s SURFACE -l LENS [-l LENS ...] [--detail MM | --text PT]", []Value{program}, false},
		{"probe PROGRAM [--by-hand] [--bow MM] [-o FILE]", []Value{program}, false},
		{"a [--by-hand] PROGRAM", []Value{program}, false},
		{"a (-x | -y) PROGRAM X.toml", []Value{program, toml}, false},
		{"verify PROGRAM|DIR -s SURFACE", []Value{program}, false},
		{"rungs (--sharp=-1.5,1.5 | VERDICTS.csv) [--detail 0.5]", []Value{csv}, false},
		{"show LENS.toml ... [--detail MM | --text PT]", []Value{toml}, true},
		{"surface MEASURED... [--for PROGRAM] [--plot FILE.svg]", []Value{FileOf("measured")}, true},
		{"watch DIR", []Value{{File: true, Dir: true}}, false},
		{"desk [DIR] [--no-open]", []Value{{File: true, Dir: true}}, false},
		{"completion (bash | zsh)", nil, false},
		{"ladder (--step MM --reach MM | --focal MM) --feed F --power P", nil, false},
	} {
		if got, more := Operands(c.usage); !reflect.DeepEqual(got, c.want) || more != c.more {
			t.Errorf("%s: got %v %v, want %v %v", c.usage, got, more, c.want, c.more)
		}
	}
}

// What is written of any text is ASCII without a request in it, and reads as the text.
func TestTextIsNoRequest(t *testing.T) {
	back := strings.NewReplacer(`\(rs`, `\`, `\-`, "-", `\(aq`, "'", `\(dq`, `"`, `\(ga`, "`", `\(ha`, "^", `\(ti`, "~", `\&`, "",
		`\[u00B2]`, "²", `\[u2014]`, "—", `\[u1F525]`, "🔥")
	rapid.Check(t, func(t *rapid.T) {
		text := strings.Join(rapid.SliceOf(rapid.SampledFrom(
			[]string{".", "'", `"`, `\`, "-", "`", "^", "~", "a", " ", "(", "[", "u00B2", "²", "—", "🔥", "nf", "&"})).Draw(t, "text"), "")
		var r roff
		r.text(text)
		got := strings.TrimSuffix(r.String(), "\n")
		if strings.IndexFunc(got, func(c rune) bool { return c > 0x7e || c < ' ' }) >= 0 {
			t.Fatalf("not ASCII, or more than a line: %q", got)
		}
		if strings.HasPrefix(got, ".") || strings.HasPrefix(got, "'") || strings.HasPrefix(got, `\(aq`) {
			t.Fatalf("a request: %q", got)
		}
		if strings.ContainsAny(got, "^~`'\"") {
			t.Fatalf("shown as another character: %q", got)
		}
		if back.Replace(got) != text {
			t.Fatalf("%q reads as %q", got, back.Replace(got))
		}
	})
}

// Paragraphs are filled, commands and files stand as they are, terms have their meanings
// beside them.
func TestRoff(t *testing.T) {
	p := Page{Name: Name{"a-b", 1}, Short: "does b", Usage: "a b FILE",
		Long:     "one\ntwo\n\n  [[x]]\n  y = 1\n    z\n\n  term\n      meaning\n      of it\n  other\n      too\n\n.end",
		Options:  []Entry{{"-o, --out FILE", "write"}},
		Examples: "  First:\n\n    a b -x\n    a b 'y'\n", See: []string{"a(1)"}}
	const want = `.TH A\-B 1 "" sagitta sagitta
.nh
.ad l
.SH NAME
a\-b \- does b
.SH SYNOPSIS
a b FILE
.SH DESCRIPTION
one
two
.PP
.RS 4
.nf
[[x]]
y = 1
  z
.fi
.RE
.TP
term
meaning
of it
.TP
other
too
.PP
\&.end
.SH OPTIONS
.TP
\-o, \-\-out FILE
write
.SH EXAMPLES
First:
.PP
.RS 4
.nf
a b \-x
a b \(aqy\(aq
.fi
.RE
.SH "SEE ALSO"
a(1)
`
	if got := string(p.Roff()); got != want {
		t.Errorf("got\n%s", got)
	}
	groff, err := exec.LookPath("groff")
	if err != nil {
		t.Skip("no groff to render it with")
	}
	c := exec.Command(groff, "-man", "-Tutf8", "-ww", "-P-cbou")
	c.Stdin = strings.NewReader(want)
	shown, err := c.CombinedOutput()
	if err != nil || !strings.Contains(string(shown), "a b 'y'") || !strings.Contains(string(shown), "one two") ||
		!strings.Contains(string(shown), "meaning of it") || !strings.Contains(string(shown), ".end") {
		t.Errorf("%v\n%s", err, shown)
	}
}
