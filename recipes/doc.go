// Package recipes holds scripts that have jobs prepared by other engines, and the tests that
// start these.
package recipes
