package coverage

import (
	"errors"
	"fmt"
	"math"

	"selvage/boundary/finding"
)

// BufferInput is what a buffer is derived from.
type BufferInput struct {
	Setup
	Views int // photos that must see every point of the edge; 0: as many as see ground inside
}

// Reach is how far, in metres, photo centres must reach past an edge, and the
// buffer that makes sure of it whatever the course and the shape of the edge.
type Reach struct {
	Along, Across float64
	Buffer        float64 // the diagonal of the two, rounded up to a whole metre
}

// BufferResult is a derived buffer, its Reach that for the wanted views.
type BufferResult struct {
	Layout
	Reach
	Full              Reach // for as many views on the edge as inside
	Views             int   // that every point of the edge has at least
	Lines, LinePhotos int   // the flight lines that are sure to see it, and the photos of each
}

// DeriveBuffer works out how far a flight area must extend past the site area
// so that every point of the site area's edge has the wanted views.
//
// With a ground footprint of G along the course and S across it and overlaps p
// and q, the air base is B = (1 − p)·G and the line spacing W = (1 − q)·S (Wolf,
// Dewitt & Wilkinson, Elements of Photogrammetry, 4th ed., ch. 18, from
// memory). A photo sees a point when its centre lies within G/2 along and S/2
// across of it. The rest follows:
//
// Full views: the point is seen as often as one inside when no centre is missing
// from that rectangle, so centres must reach G/2 along and S/2 across past it.
//
// k views: a length of m·B holds at least m centres of a line wherever they
// fall, and a width of n·W at least n lines. So the rectangle of m·B/2 along and
// n·W/2 across each way of the point holds at least m·n centres, and they see
// the point while m·B ≤ G and n·W ≤ S. Of all m and n with m·n ≥ k the pair is
// taken that needs the least buffer.
//
// The buffer: the flight area holds all ground within the buffer of the point,
// whatever the shape of the site area there, even if it is a strip or a sharp
// corner. A circle holds the rectangle, turned to any course, when its radius
// is half the diagonal: ½·√((m·B)² + (n·W)²). The larger of along and across is
// not enough: on slanting edges and round corners some centres would be missing.
//
// It is taken that lines lie one spacing apart across all of the flight area,
// so that a further one would lie outside, that photos follow one air base
// apart from where each line enters the area to where it leaves it, that the
// ground is level and that photos look straight down. Nothing is taken of where
// the first line or photo lies, and no line need reach past the flight area.
//
// It is an error when the Setup is one, or when more views are wanted than the
// overlaps are sure to give.
func DeriveBuffer(in BufferInput) (BufferResult, error) {
	l, err := in.Layout()
	if err != nil {
		return BufferResult{}, err
	}
	m, n := l.sureViews()
	if in.Views < 0 {
		return BufferResult{}, errors.New("the wanted views of the edge must not be below 0")
	}
	if in.Views > m*n {
		return BufferResult{}, fmt.Errorf("%s of the edge cannot be had: these overlaps make sure of %d even inside the area, "+
			"from %s with %s each; raise an overlap or want fewer views", finding.Counted(in.Views, "view", "views"), m*n,
			finding.Counted(n, "line", "lines"), finding.Counted(m, "photo", "photos"))
	}
	r := BufferResult{Layout: l, Full: reachOf(l.FootprintAlong/2, l.FootprintAcross/2)}
	if in.Views == 0 {
		r.Reach, r.Views, r.Lines, r.LinePhotos = r.Full, m*n, n, m
	} else {
		r.Views = in.Views
		least := math.Inf(1)
		for lines := 1; lines <= n; lines++ {
			photos := (in.Views + lines - 1) / lines
			along, across := float64(photos)*l.AirBase/2, float64(lines)*l.LineSpacing/2
			if d := math.Hypot(along, across); photos <= m && d < least {
				least = d
				r.Reach, r.Lines, r.LinePhotos = reachOf(along, across), lines, photos
			}
		}
	}
	return r, nil
}

func reachOf(along, across float64) Reach {
	return Reach{along, across, float64(roundedUp(math.Hypot(along, across)))}
}
