package main

import (
	"bytes"
	"io"
	"time"

	"selvage/report"
	"selvage/report/pdf"
)

// writePDF sets the HTML page that write writes as PDF, on the paper that goes
// with the units.
func writePDF(w io.Writer, u report.Units, made time.Time, write func(io.Writer) error) error {
	var page bytes.Buffer
	if err := write(&page); err != nil {
		return err
	}
	return pdf.Write(w, page.Bytes(), pdf.Options{
		Producer: "Selvage " + version, Made: made, Letter: u.Measures == report.Imperial, Texts: u.Texts(),
	})
}
