// Package table reads text tables: rows of fields between commas, semicolons,
// tabs or blanks, as people, spreadsheets and machines write them, with comments
// and the settings that those carry as "# key: value". Every error names line
// and column. It streams, and allocates nothing for a row.
//
// The first row decides what separates fields, the first number with decimals
// whether they take a point or a comma. From a # at the beginning of a field, or
// behind a blank, to the end of a line is comment. Lines that are blank, or hold
// separators only, pass.
package table
