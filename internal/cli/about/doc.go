// Package about has what the tool says of itself besides its help: of what commit it was
// built, what shells complete, and its manual pages. It makes them of what commands and
// options say of themselves, and knows no library of command lines.
package about
