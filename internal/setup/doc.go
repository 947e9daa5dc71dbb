// Package setup says where on the stock the focus is set: at a place of the
// right height, clear of what is marked.
package setup
