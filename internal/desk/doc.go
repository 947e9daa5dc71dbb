// Package desk is the page at the bench: a document in a browser on the same computer,
// that goes with a person from a folder of files to programs that are proved. Each of its
// steps is a command line of the tool, which it shows, and which is run here as if it had
// been typed: so what it writes is what that command writes. It drives nothing.
//
// It is reached at 127.0.0.1 alone, with a token that is drawn anew for each run, and
// touches nothing outside the folder. What was chosen and typed lies there in desk.json.
//
// Requests come in goroutines of their own, as net/http has it; what they share is locked.
package desk
