// Package advise says which way is right for a job: flat, at one focus;
// following the surface; split among zones; or splitting and following
// together; and with which lens.
//
// Run reads the program a few times. Scan gathers what the burns see: heights
// with certified bounds, slopes, the smallest detail (scan.go, rows.go,
// detail.go). For each lens judge.go then finds whether the job runs flat,
// tries to follow it and counts its zones, by the packages that would do it,
// so that an answer is what the bench will get. cheap.go looks for what would
// cost less than any of that, and choose.go makes one recommendation.
//
// Not here: options, exit codes and the words around the answer (package
// cli), and how a job is followed (follow) or divided (zone).
package advise
