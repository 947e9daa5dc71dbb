// Package record reads and writes what an operator keeps beside the programs: lens
// records, machine profiles, fixture records and, reading alone, rules about burns, as TOML. Every
// field is checked; a field that is not known is an error and not passed over, so
// that a slip of the pen never turns into a default.
//
// What is wrong in such a file is a *diag.Error with file, line and field.
//
// The package knows what the fields mean and what a lens's depth is made of. It
// does not know G-code, surfaces, flags or exit codes.
package record
