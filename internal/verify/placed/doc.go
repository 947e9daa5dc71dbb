// Package placed checks that a program of many parts does at each place what the program
// of one does: it walks both side by side, and holds every motion, wait and word to that of
// the part, shifted and turned, with the same beam, power, feed and Z. Between two parts it
// allows travels with the beam off, and nothing else. It shares nothing with what wrote it.
package placed
