module sagitta

go 1.26.8

require (
	github.com/256dpi/gcode v0.3.0
	github.com/BurntSushi/toml v1.6.0
	github.com/google/renameio/v2 v2.0.2
	github.com/rogpeppe/go-internal v1.16.0
	github.com/schollz/progressbar/v3 v3.19.1
	github.com/spf13/cobra v1.10.2
	github.com/spf13/pflag v1.0.9
	golang.org/x/term v0.48.0
	pgregory.net/rapid v1.3.0
)

require (
	github.com/inconshreveable/mousetrap v1.1.0 // indirect
	github.com/mitchellh/colorstring v0.0.0-20190213212951-d06e56a500db // indirect
	github.com/rivo/uniseg v0.4.7 // indirect
	golang.org/x/sys v0.50.0 // indirect
	golang.org/x/tools v0.30.0 // indirect
)
