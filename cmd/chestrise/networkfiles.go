package main

import (
	"bytes"

	"chestrise/reports"
)

func render(r reports.Renderer, d *reports.Document, s reports.Stamp) ([]byte, error) {
	var b bytes.Buffer
	err := r.Render(&b, d, s)
	return b.Bytes(), err
}
