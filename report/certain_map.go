package report

// ruled is the pattern of ground that only one flight line saw.
const ruled = `<pattern id="ruled" width="7" height="7" patternUnits="userSpaceOnUse" patternTransform="scale(10)"><path class="ruling" d="M0 3.5h7"/></pattern>`

// drawOneLine marks the ground that enough photos saw, all from one line.
func drawOneLine(c *canvas, v *view, n Note) []key {
	var p path
	for _, piece := range n.Audit.OneLine.Pieces {
		p.polygon(v, piece.Shape)
	}
	if p.Len() == 0 {
		return nil
	}
	c.addf(`<path class="one-line-zone" fill="url(#ruled)" fill-rule="evenodd" d="%s"/>`, &p)
	return []key{swatch(`<path class="ruling" d="M1 4.5h30M1 8h30M1 11.5h30"/><rect class="one-line-zone" fill="none" x="1" y="1" width="30" height="14"/>`,
		n.Units.Say("one flight line only: %s", n.Units.Area(n.Audit.OneLine.Area)))}
}
