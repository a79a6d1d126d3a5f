package photo

import (
	"math"
	"testing"
)

// A sensor of 13.2 mm × 8.8 mm with 5472 × 3648 pixels has 4145.4545 pixels a
// centimetre; at 8.8 mm its field of view is that of 24 mm on 36 mm × 24 mm.
func TestView(t *testing.T) {
	const plane, equivalent = "focal-plane resolution", "35 mm equivalent (diagonal 43.27 mm, good to about 5 %)"
	const perCentimetre = 5472 / 1.32
	sound := optics{columns: 5472, rows: 3648, pixelX: 5472, pixelY: 3648, focal: 8.8, perUnitX: perCentimetre, perUnitY: perCentimetre, unit: 10}
	both := sound
	both.equivalent = 24
	alone := both
	alone.perUnitX = 0
	unknown := math.NaN()
	for _, c := range []struct {
		name   string
		base   optics
		change func(*optics)
		want   Camera
		source string
		doubt  float64
	}{
		{"resolution alone", sound, func(o *optics) {}, invented, plane, unknown},
		{"equivalent alone", alone, func(o *optics) {}, invented, equivalent, unknown},
		{"both agree", both, func(o *optics) {}, invented, plane, 1},
		{"both differ", both, func(o *optics) { o.equivalent = 48 }, invented,
			plane + " (the 35 mm equivalent gives a sensor 6.6 mm wide instead of 13.2 mm)", 0.5},
		{"a little", both, func(o *optics) { o.equivalent = 23 }, invented, plane, 24.0 / 23},
		// Half the pixels see the same: twice the ground sample distance.
		{"halved", both, func(o *optics) { o.columns, o.rows = 2736, 1824 }, Camera{13.2, 8.8, 8.8, 2736, 1824},
			plane + ", scaled from 5472 × 3648 to 2736 × 1824 pixels", 1},
		{"halved, equivalent", alone, func(o *optics) { o.columns, o.rows = 2736, 1824 }, Camera{13.2, 8.8, 8.8, 2736, 1824},
			equivalent + ", scaled from 5472 × 3648 to 2736 × 1824 pixels", unknown},
		{"halved and its own size written over", both, func(o *optics) { o.columns, o.rows, o.pixelX, o.pixelY = 2736, 1824, 2736, 1824 },
			Camera{6.6, 4.4, 8.8, 2736, 1824}, plane + " (the 35 mm equivalent gives a sensor 13.2 mm wide instead of 6.6 mm)", 2},
		{"turned", both, func(o *optics) { o.columns, o.rows = 3648, 5472 }, Camera{8.8, 13.2, 8.8, 3648, 5472},
			plane + ", turned from 5472 × 3648 to 3648 × 5472 pixels", 1},
		// A square in the middle is as high and two thirds as wide.
		{"cut", both, func(o *optics) { o.columns, o.rows = 3648, 3648 }, Camera{8.8, 8.8, 8.8, 3648, 3648},
			plane + ", cut from 5472 × 3648 to 3648 × 3648 pixels", 1},
		{"a raw image's border", both, func(o *optics) { o.columns, o.rows = 5488, 3664 }, Camera{13.2, 8.8, 8.8, 5488, 3664}, plane, 1},
		{"no relation", sound, func(o *optics) { o.columns, o.rows = 6000, 6000 }, Camera{14.4737, 14.4737, 8.8, 6000, 6000}, plane, unknown},
		{"stored size unknown", sound, func(o *optics) { o.columns, o.rows = 0, 0 }, invented, plane, unknown},
		{"digital zoom", sound, func(o *optics) { o.zoom = 2 }, Camera{6.6, 4.4, 8.8, 5472, 3648},
			plane + ", narrowed by a digital zoom of 2", unknown},
		{"digital zoom, not in the equivalent", both, func(o *optics) { o.zoom = 2 }, Camera{6.6, 4.4, 8.8, 5472, 3648},
			plane + ", narrowed by a digital zoom of 2", 1},
		{"digital zoom, in the equivalent", both, func(o *optics) { o.zoom, o.equivalent = 2, 48 }, Camera{6.6, 4.4, 8.8, 5472, 3648},
			plane + ", narrowed by a digital zoom of 2", 1},
		{"digital zoom, equivalent alone", alone, func(o *optics) { o.zoom = 2 }, Camera{6.6, 4.4, 8.8, 5472, 3648},
			equivalent + ", narrowed by a digital zoom of 2", 2},
		{"next to no zoom", sound, func(o *optics) { o.zoom = 1.0005 }, invented, plane, unknown},
		{"nothing", optics{}, func(o *optics) {}, Camera{}, "", unknown},
		{"impossible sensor", sound, func(o *optics) { o.perUnitX, o.perUnitY = 1, 1 }, Camera{0, 0, 8.8, 5472, 3648}, "", unknown},
	} {
		t.Run(c.name, func(t *testing.T) {
			o := c.base
			c.change(&o)
			v := o.view()
			g, w := v.camera, c.want
			if !almost(g.SensorWidth, w.SensorWidth, 0.01*w.SensorWidth/13) || !almost(g.SensorHeight, w.SensorHeight, 0.01*w.SensorWidth/13) ||
				g.FocalLength != w.FocalLength || g.Columns != w.Columns || g.Rows != w.Rows {
				t.Errorf("%+v, want %+v", g, w)
			}
			if v.source != c.source || !almost(v.doubt, c.doubt, 0.01) {
				t.Errorf("%q, doubt %g, want %q, %g", v.source, v.doubt, c.source, c.doubt)
			}
		})
	}
}

// The size of the stored image counts, also when a DCF thumbnail file stands
// for a larger one.
func TestStoredSize(t *testing.T) {
	b := bothOrders["little-endian"]
	exif := []rawField{b.fractions(0x920A, 88, 10), b.long(0xA002, 5472), b.long(0xA003, 3648), b.short(0xA405, 24)}
	p := mustDecode(t, jpegSized(1368, 912, exifSegment(b.tiff(fields{exif: exif, gps: b.pittsburgh()}))))
	if c := p.Camera; c.Columns != 1368 || c.Rows != 912 || !almost(c.SensorWidth, 13.2, 1e-3) || !almost(p.Camera.PixelSize(), 13.2e-3/1368, 1e-8) {
		t.Errorf("%+v", c)
	}
	full := samples()["full"]
	if p := mustDecode(t, encoded(t, full)); p.Camera.Columns != 5472 || p.Camera.Rows != 3648 || p.CameraSource != "focal-plane resolution" {
		t.Errorf("%+v from %s", p.Camera, p.CameraSource)
	}
}
