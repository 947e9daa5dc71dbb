// Package round carries what can be reached along a path that may turn only so much at a
// time: the pairs of a value c and its slope p = dc/ds are a convex polygon in the plane
// of both. Along a stretch of the path c grows by p times its length, which shears the
// polygon; at its end the slope may change by a step, which stretches it; and windows of c
// and of p cut it. So the polygons say exactly what is possible, like the windows of c
// where slopes may change as they like.
//
// It is mathematics: values in, values out. Nothing is allocated.
package round
