// Package plane is where degrees become metres and shapes are reckoned with:
// the local frame of a job, geodesic measures, exact predicates, validity, and
// the arrangement kernel behind repair, overlay and offset.
//
// Shapes are orb types, as orb.Point{longitude, latitude} in degrees on WGS 84
// or as orb.Point{x, y} in metres of a Frame, x to the east and y to the north.
// Functions that do not say "degrees" or "metres" are planar and take either.
package plane
