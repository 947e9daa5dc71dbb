// Package advise says which way is right for a job, and with which lens: flat, at
// one focus; following the surface; split among zones; or splitting and following
// together.
//
// One reading gathers what the burns see. For each lens it is then found whether
// the job runs flat, follows and is split, by the packages that would do it, so that
// an answer is what the bench will get. One recommendation is made of the answers.
package advise
