/* Answers questions about areas with GEOS, one a line: operation, number, WKT
   and WKT, parted by tabs. Prints validity (1 or 0) and area of the
   result, and the seconds that the operation took. */
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
		if (a && !strcmp(op, "structure")) {
			GEOSMakeValidParams *p = GEOSMakeValidParams_create();
			GEOSMakeValidParams_setMethod(p, GEOS_MAKE_VALID_STRUCTURE);
			r = GEOSMakeValidWithParams(a, p);
			GEOSMakeValidParams_destroy(p);
		}
		double seconds = now() - start;
		if (r) GEOSArea(r, &area);
		printf("%d %.12g %.6f\n", r ? GEOSisValid(r) == 1 : 0, area, seconds);
		fflush(stdout);
		if (a) GEOSGeom_destroy(a);
		if (b) GEOSGeom_destroy(b);
		if (r) GEOSGeom_destroy(r);
	}
	return 0;
}
