/* Views by GEOS. Reads an operation and a number, the site as WKT, and the
   footprints as WKT of polygons, one a line, and prints the seconds that the
   work took and areas:
   gaps   site less the union of the footprints: one area
   below  all rims noded and polygonized, each face counted by a point in it:
          the areas with 0, with 1, and with 2 or more but fewer than the number */
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

typedef struct {
	const GEOSGeometry *point;
	int count;
} Tally;

static void tally(void *item, void *data) {
	Tally *t = data;
	if (GEOSPreparedContains(item, t->point) == 1) t->count++;
}

int main(void) {
	char *line = NULL, op[16];
	size_t room = 0;
	int limit, n = 0, most = 0;
	initGEOS(quiet, quiet);
	if (scanf("%15s %d\n", op, &limit) != 2 || getline(&line, &room, stdin) <= 0) return 2;
	GEOSGeometry *site = GEOSGeomFromWKT(line), **all = NULL;
	while (getline(&line, &room, stdin) > 1) {
		if (n == most) all = realloc(all, (most = 2 * most + 1024) * sizeof *all);
		if (!(all[n++] = GEOSGeomFromWKT(line))) return 2;
	}
	double area = 0, start = now();
	if (!strcmp(op, "gaps")) {
		GEOSGeometry *together = GEOSGeom_createCollection(GEOS_GEOMETRYCOLLECTION, all, n), *seen = GEOSUnaryUnion(together);
		GEOSGeometry *gaps = seen ? GEOSDifference(site, seen) : NULL;
		double seconds = now() - start;
		if (!gaps || !GEOSArea(gaps, &area)) return 1;
		printf("%.6f %.9f\n", seconds, area);
		return 0;
	}
	GEOSGeometry **rims = malloc((n + 1) * sizeof *rims);
	GEOSSTRtree *tree = GEOSSTRtree_create(10);
	for (int i = 0; i < n; i++) {
		rims[i] = GEOSBoundary(all[i]);
		GEOSSTRtree_insert(tree, all[i], (void *)GEOSPrepare(all[i]));
	}
	rims[n] = GEOSBoundary(site);
	GEOSGeometry *lines = GEOSGeom_createCollection(GEOS_GEOMETRYCOLLECTION, rims, n + 1), *noded = GEOSUnaryUnion(lines);
	const GEOSGeometry *nodedList[1] = {noded};
	GEOSGeometry *faces = noded ? GEOSPolygonize(nodedList, 1) : NULL;
	if (!faces) return 1;
	const GEOSPreparedGeometry *ground = GEOSPrepare(site);
	double areas[3] = {0, 0, 0};
	for (int i = 0; i < GEOSGetNumGeometries(faces); i++) {
		const GEOSGeometry *face = GEOSGetGeometryN(faces, i);
		GEOSGeometry *inside = GEOSPointOnSurface(face);
		Tally t = {inside, 0};
		if (GEOSPreparedContains(ground, inside) == 1) {
			GEOSSTRtree_query(tree, inside, tally, &t);
			if (t.count < limit && GEOSArea(face, &area)) areas[t.count < 2 ? t.count : 2] += area;
		}
		GEOSGeom_destroy(inside);
	}
	printf("%.6f %.9f %.9f %.9f\n", now() - start, areas[0], areas[1], areas[2]);
	return 0;
}
