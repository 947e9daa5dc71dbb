// Package sheet tells people and other programs of a set of zones: the sheet to
// print for the bench, the list set.json, and the maps zones.geojson and zones.svg.
// All of it comes from a Set, a plain value that whoever divided the job fills in.
// Where the zones burn is gathered as Lines while their programs are written, in
// bounded memory.
package sheet
