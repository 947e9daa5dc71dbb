// Package jig makes a job of many parts out of the program of one and the places where they
// lie: the program of all, part after part, and the surface as the stock lies there, raised
// or tilted as is said or as readings tell. So all other rooms do it as they do any other
// program. What is made has been walked beside the part's program (verify/placed), and
// readings have been judged as recheck judges them.
//
// Errors are those of package diag: of kind Setting where places contradict each other,
// Unmet where readings do, else of the program.
package jig
