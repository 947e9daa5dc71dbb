package cli

// Version is what --version and the marker say.
const Version = "0.1.0"

// maker is what made a file.
const maker = "sagitta " + Version
