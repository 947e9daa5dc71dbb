// Package cli is the command line: one file for each command, flags in,
// errors out to exit statuses in one place (exit.go). Nothing below it knows
// of flags, colours or statuses, and no other package imports cobra.
package cli
