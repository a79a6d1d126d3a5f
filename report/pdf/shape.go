package pdf

import (
	"math"
	"strconv"
)

type point struct{ x, y float64 }

// step is one operator of a path: m, l, c (with three points) or h.
type step struct {
	operator byte
	points   []point
}

// shape is a path.
type shape []step

func (s *shape) move(p point)        { *s = append(*s, step{'m', []point{p}}) }
func (s *shape) line(p point)        { *s = append(*s, step{'l', []point{p}}) }
func (s *shape) curve(a, b, c point) { *s = append(*s, step{'c', []point{a, b, c}}) }
func (s *shape) close()              { *s = append(*s, step{operator: 'h'}) }

// matrix maps x to a·x + c·y + e and y to b·x + d·y + f.
type matrix struct{ a, b, c, d, e, f float64 }

var same = matrix{a: 1, d: 1}

func (m matrix) at(p point) point {
	return point{m.a*p.x + m.c*p.y + m.e, m.b*p.x + m.d*p.y + m.f}
}

// then is n within m: first n, then m.
func (m matrix) then(n matrix) matrix {
	o := m.at(point{n.e, n.f})
	return matrix{m.a*n.a + m.c*n.b, m.b*n.a + m.d*n.b, m.a*n.c + m.c*n.d, m.b*n.c + m.d*n.d, o.x, o.y}
}

func (m matrix) scale() float64 { return math.Sqrt(math.Abs(m.a*m.d - m.b*m.c)) }

// inverse of a matrix that can be inverted.
func (m matrix) inverse() (matrix, bool) {
	d := m.a*m.d - m.b*m.c
	if d == 0 || math.IsNaN(d) || math.IsInf(d, 0) {
		return same, false
	}
	return matrix{m.d / d, -m.b / d, -m.c / d, m.a / d, (m.c*m.f - m.d*m.e) / d, (m.b*m.e - m.a*m.f) / d}, true
}

func (s shape) moved(m matrix) shape {
	out := make(shape, len(s))
	for i, st := range s {
		points := make([]point, len(st.points))
		for k, p := range st.points {
			points[k] = m.at(p)
		}
		out[i] = step{st.operator, points}
	}
	return out
}

// bounds are those of its points.
func (s shape) bounds() (least, most point) {
	least, most = point{math.Inf(1), math.Inf(1)}, point{math.Inf(-1), math.Inf(-1)}
	for _, st := range s {
		for _, p := range st.points {
			least = point{min(least.x, p.x), min(least.y, p.y)}
			most = point{max(most.x, p.x), max(most.y, p.y)}
		}
	}
	return least, most
}

// quarter is how far the control points of a quarter of a circle reach.
const quarter = 0.5522847498

func ellipse(x, y, rx, ry float64) shape {
	return rounded(x-rx, y-ry, 2*rx, 2*ry, rx, ry)
}

func rectangle(x, y, width, height, radius float64) shape {
	radius = min(radius, width/2, height/2)
	if radius <= 0 {
		var s shape
		s.move(point{x, y})
		s.line(point{x + width, y})
		s.line(point{x + width, y + height})
		s.line(point{x, y + height})
		s.close()
		return s
	}
	return rounded(x, y, width, height, radius, radius)
}

func rounded(x, y, width, height, rx, ry float64) shape {
	var s shape
	r, b := x+width, y+height
	kx, ky := rx*(1-quarter), ry*(1-quarter)
	s.move(point{x + rx, y})
	s.line(point{r - rx, y})
	s.curve(point{r - kx, y}, point{r, y + ky}, point{r, y + ry})
	s.line(point{r, b - ry})
	s.curve(point{r, b - ky}, point{r - kx, b}, point{r - rx, b})
	s.line(point{x + rx, b})
	s.curve(point{x + kx, b}, point{x, b - ky}, point{x, b - ry})
	s.line(point{x, y + ry})
	s.curve(point{x, y + ky}, point{x + kx, y}, point{x + rx, y})
	s.close()
	return s
}

// arguments is how many numbers each command of a path takes.
var arguments = map[byte]int{'m': 2, 'l': 2, 'h': 1, 'v': 1, 'c': 6, 'a': 7, 'z': 0}

// parsePath reads the data of an SVG path: M, L, H, V, C, A (of circles) and Z,
// absolute and relative. It ends at what it does not understand.
func parsePath(data string) shape {
	var s shape
	var at, start point
	command := byte(0)
	numbers := numberReader{text: data}
	for {
		if c, found := numbers.command(); found {
			command = c
		} else if numbers.done() || command == 0 {
			return s
		}
		relative := command >= 'a'
		lower := command | 0x20
		count, known := arguments[lower]
		if !known {
			return s
		}
		var v [7]float64
		for i := range count {
			x, ok := numbers.next()
			if !ok {
				return s
			}
			v[i] = x
		}
		origin := point{}
		if relative {
			origin = at
		}
		to := func(i int) point { return point{origin.x + v[i], origin.y + v[i+1]} }
		switch lower {
		case 'm':
			at = to(0)
			start = at
			s.move(at)
			command-- // further points are lines: m to l, M to L
		case 'l':
			at = to(0)
			s.line(at)
		case 'h':
			at.x = origin.x + v[0]
			s.line(at)
		case 'v':
			at.y = origin.y + v[0]
			s.line(at)
		case 'c':
			s.curve(to(0), to(2), to(4))
			at = to(4)
		case 'a':
			end := to(5)
			s.arc(at, end, v[0], v[3] != 0, v[4] != 0)
			at = end
		case 'z':
			s.close()
			at, command = start, 0
		}
	}
}

// arc goes round a circle to a point, as SVG has it (SVG 1.1, F.6).
func (s *shape) arc(from, to point, r float64, large, clockwise bool) {
	dx, dy := (to.x-from.x)/2, (to.y-from.y)/2
	half := math.Hypot(dx, dy)
	if half == 0 || r <= 0 {
		return
	}
	r = max(r, half)
	off := math.Sqrt(max(r*r-half*half, 0)) / half
	if large == clockwise {
		off = -off
	}
	centre := point{from.x + dx - off*dy, from.y + dy + off*dx}
	begin := math.Atan2(from.y-centre.y, from.x-centre.x)
	sweep := math.Atan2(to.y-centre.y, to.x-centre.x) - begin
	if clockwise && sweep < 0 {
		sweep += 2 * math.Pi
	} else if !clockwise && sweep > 0 {
		sweep -= 2 * math.Pi
	}
	pieces := max(1, int(math.Ceil(math.Abs(sweep)/(math.Pi/2)-1e-9)))
	part := sweep / float64(pieces)
	k := 4.0 / 3 * math.Tan(part/4)
	for i := range pieces {
		a, b := begin+float64(i)*part, begin+float64(i+1)*part
		sinA, cosA := math.Sincos(a)
		sinB, cosB := math.Sincos(b)
		s.curve(
			point{centre.x + r*(cosA-k*sinA), centre.y + r*(sinA+k*cosA)},
			point{centre.x + r*(cosB+k*sinB), centre.y + r*(sinB-k*cosB)},
			point{centre.x + r*cosB, centre.y + r*sinB},
		)
	}
}

// numberReader reads the numbers of SVG, which may stand without a space.
type numberReader struct {
	text string
	at   int
}

func (r *numberReader) skip() {
	for r.at < len(r.text) && (r.text[r.at] <= ' ' || r.text[r.at] == ',') {
		r.at++
	}
}

func (r *numberReader) done() bool {
	r.skip()
	return r.at == len(r.text)
}

func (r *numberReader) command() (byte, bool) {
	r.skip()
	if r.at == len(r.text) {
		return 0, false
	}
	c := r.text[r.at]
	if letter := c | 0x20; letter < 'a' || letter > 'z' {
		return 0, false
	}
	r.at++
	return c, true
}

func (r *numberReader) next() (float64, bool) {
	r.skip()
	from, dot := r.at, false
	for r.at < len(r.text) {
		c := r.text[r.at]
		switch {
		case c >= '0' && c <= '9':
		case c == '.' && !dot:
			dot = true
		case (c == '-' || c == '+') && r.at == from:
		case c == 'e' && r.at > from && r.at+1 < len(r.text):
			r.at++ // and the sign or digit after it
		default:
			x, err := strconv.ParseFloat(r.text[from:r.at], 64)
			return x, err == nil
		}
		r.at++
	}
	x, err := strconv.ParseFloat(r.text[from:], 64)
	return x, err == nil
}
