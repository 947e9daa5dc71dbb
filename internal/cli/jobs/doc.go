// Package jobs does jobs from job files by the commands of the tool, side by side, and
// says what became of them. Which commands there are, and how one is run, it is given.
package jobs
