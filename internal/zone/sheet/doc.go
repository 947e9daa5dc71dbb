// Package sheet tells people and other programs of a set of zones: the sheet
// to print for the bench (bench.go), the list set.json (set.go), and the maps
// zones.geojson (geojson.go) and zones.svg (svg.go), in which the bands of the
// zones are outlined (outline.go).
//
// All of it comes from a Set, a plain value that whoever divided the job fills
// in. Where the zones burn is gathered as Lines while their programs are
// written, in bounded memory.
//
// Not here: how a job is divided, and programs (package zone).
package sheet
