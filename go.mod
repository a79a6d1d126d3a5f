module selvage

go 1.26.3

require (
	codeberg.org/go-pdf/fpdf v0.12.0
	github.com/bep/imagemeta v1.0.1
	github.com/cheggaaa/pb/v3 v3.1.7
	github.com/chromedp/cdproto v0.0.0-20250724212937-08a3db8b4327
	github.com/chromedp/chromedp v0.14.2
	github.com/gobwas/ws v1.4.0
	github.com/jonas-p/go-shp v0.1.1
	github.com/paulmach/orb v0.14.0
	github.com/peterstace/simplefeatures v0.59.0
	github.com/rogpeppe/go-internal v1.16.0
	github.com/santhosh-tekuri/jsonschema/v6 v6.0.2
	github.com/spf13/pflag v1.1.0
	github.com/tidwall/geodesic v0.3.5
	github.com/twpayne/go-geom v1.7.0
	github.com/twpayne/go-kml/v3 v3.6.0
	github.com/wroge/wgs84/v2 v2.0.0-alpha.15
	golang.org/x/image v0.40.0
	golang.org/x/sys v0.47.0
	golang.org/x/term v0.44.0
	golang.org/x/text v0.41.0
	pgregory.net/rapid v1.2.0
)

require (
	github.com/VividCortex/ewma v1.2.0 // indirect
	github.com/chromedp/sysutil v1.1.0 // indirect
	github.com/fatih/color v1.18.0 // indirect
	github.com/go-json-experiment/json v0.0.0-20250725192818-e39067aee2d2 // indirect
	github.com/gobwas/httphead v0.1.0 // indirect
	github.com/gobwas/pool v0.2.1 // indirect
	github.com/mattn/go-colorable v0.1.14 // indirect
	github.com/mattn/go-isatty v0.0.20 // indirect
	github.com/mattn/go-runewidth v0.0.16 // indirect
	github.com/rivo/uniseg v0.4.7 // indirect
	golang.org/x/tools v0.48.0 // indirect
)
