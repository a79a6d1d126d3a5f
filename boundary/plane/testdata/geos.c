/* Answers questions about areas with GEOS, one a line: operation, number, WKT
   and WKT, parted by tabs. Prints validity (1 or 0) and area of the
   result, the seconds that the operation took, and for "rings" how many holes
   lie apart from their outline. */
#define _GNU_SOURCE
#include <geos_c.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

static void quiet(const char *format, ...) { (void)format; }

static double now(void) {
	struct timespec t;
	clock_gettime(CLOCK_MONOTONIC, &t);
	return t.tv_sec + t.tv_nsec * 1e-9;
}

static GEOSGeometry *structure(const GEOSGeometry *g) {
	GEOSMakeValidParams *p = GEOSMakeValidParams_create();
	GEOSMakeValidParams_setMethod(p, GEOS_MAKE_VALID_STRUCTURE);
	GEOSGeometry *r = GEOSMakeValidWithParams(g, p);
	GEOSMakeValidParams_destroy(p);
	return r;
}

/* What the structure method makes of one ring by itself. */
static GEOSGeometry *ofRing(const GEOSGeometry *ring) {
	GEOSGeometry *alone = GEOSGeom_createPolygon(GEOSGeom_clone(ring), NULL, 0), *r = structure(alone);
	GEOSGeom_destroy(alone);
	return r;
}

/* first less second or, with add, both together; NULL where GEOS fails. Takes both. */
static GEOSGeometry *combine(GEOSGeometry *first, GEOSGeometry *second, int add) {
	GEOSGeometry *r = NULL;
	if (first && second) r = add ? GEOSUnion(first, second) : GEOSDifference(first, second);
	if (first) GEOSGeom_destroy(first);
	if (second) GEOSGeom_destroy(second);
	return r;
}

/* Polygon by polygon the outline less its holes, all united; counts the holes
   that do not so much as touch their outline. */
static GEOSGeometry *byRings(const GEOSGeometry *g, int *astray) {
	GEOSGeometry *all = GEOSGeom_createEmptyPolygon();
	*astray = 0;
	for (int i = 0; i < GEOSGetNumGeometries(g); i++) {
		const GEOSGeometry *p = GEOSGetGeometryN(g, i);
		if (GEOSisEmpty(p)) continue;
		GEOSGeometry *shell = ofRing(GEOSGetExteriorRing(p)), *ground = shell ? GEOSGeom_clone(shell) : NULL;
		for (int j = 0; j < GEOSGetNumInteriorRings(p); j++) {
			GEOSGeometry *hole = ofRing(GEOSGetInteriorRingN(p, j));
			if (shell && hole && GEOSDisjoint(shell, hole) == 1) ++*astray;
			ground = combine(ground, hole, 0);
		}
		all = combine(all, ground, 1);
		if (shell) GEOSGeom_destroy(shell);
	}
	return all;
}

int main(void) {
	char *line = NULL;
	size_t room = 0;
	initGEOS(quiet, quiet);
	while (getline(&line, &room, stdin) > 0) {
		char *rest = line, *op = strsep(&rest, "\t"), *number = strsep(&rest, "\t");
		char *first = strsep(&rest, "\t"), *second = strsep(&rest, "\t\n");
		GEOSGeometry *a = GEOSGeomFromWKT(first), *b = second && *second ? GEOSGeomFromWKT(second) : NULL, *r = NULL;
		double d = atof(number), area = -1, start = now();
		if (a && !strcmp(op, "self")) r = GEOSGeom_clone(a);
		if (a && b && !strcmp(op, "union")) r = GEOSUnion(a, b);
		if (a && b && !strcmp(op, "intersection")) r = GEOSIntersection(a, b);
		if (a && b && !strcmp(op, "difference")) r = GEOSDifference(a, b);
		if (a && !strcmp(op, "buffer")) r = GEOSBuffer(a, d, 200);
		if (a && !strcmp(op, "mitre")) r = GEOSBufferWithStyle(a, d, 8, GEOSBUF_CAP_ROUND, GEOSBUF_JOIN_MITRE, 5);
		if (a && !strcmp(op, "linework")) r = GEOSMakeValid(a);
		if (a && !strcmp(op, "round")) r = GEOSBuffer(a, d, 35); /* chords 1 cm inside the arc at 50 m */
		if (a && !strcmp(op, "structure")) r = structure(a);
		int astray = 0;
		if (a && !strcmp(op, "rings")) r = byRings(a, &astray);
		double seconds = now() - start;
		if (r) GEOSArea(r, &area);
		printf("%d %.17g %.6f %d\n", r ? GEOSisValid(r) == 1 : 0, area, seconds, astray);
		fflush(stdout);
		if (a) GEOSGeom_destroy(a);
		if (b) GEOSGeom_destroy(b);
		if (r) GEOSGeom_destroy(r);
	}
	return 0;
}
