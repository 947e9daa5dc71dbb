// Package say prints what runs find: messages, each a line of lower case that
// begins with "sagitta: " and whose figures carry their units, what was assumed
// first; reports and tables; and the figures of a run as JSON. What a command says
// is in text/, a file for each, and in shared.txt what several say.
package say
