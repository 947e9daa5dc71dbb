package about

import (
	"runtime/debug"
)

// Build gives what is known of how a binary was made, a fact a line: the version, the
// commit with its time and whether files differed from it, the toolchain and the system.
// A build outside its repository knows no commit.
func Build(version string, info *debug.BuildInfo) []string {
	lines := []string{"sagitta " + version}
	if info == nil {
		return append(lines, "commit: not known")
	}
	of := map[string]string{}
	for _, s := range info.Settings {
		of[s.Key] = s.Value
	}
	if of["vcs.revision"] == "" {
		lines = append(lines, "commit: not known, it was built outside its repository")
	} else {
		lines = append(lines, "commit: "+of["vcs.revision"])
		if at := of["vcs.time"]; at != "" {
			lines = append(lines, "committed: "+at)
		}
		switch of["vcs.modified"] {
		case "true":
			lines = append(lines, "files: changed since that commit")
		case "false":
			lines = append(lines, "files: as committed")
		}
	}
	lines = append(lines, "toolchain: "+info.GoVersion)
	if of["GOOS"] != "" {
		lines = append(lines, "system: "+of["GOOS"]+"/"+of["GOARCH"])
	}
	return lines
}
