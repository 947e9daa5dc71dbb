// Package recheck says whether stock still lies as it was measured: a few places to
// touch before a job is burned, on which what goes wrong with stock shows best, and what
// their readings tell (judge.go).
package recheck
