package main

import (
	"archive/zip"
	"encoding/xml"
	"errors"
	"io"
	"os"
	"os/exec"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// zipParts reads the parts of a workbook.
func zipParts(t *testing.T, path string) map[string]string {
	t.Helper()
	z, err := zip.OpenReader(path)
	require.NoError(t, err)
	defer z.Close()
	parts := map[string]string{}
	for _, f := range z.File {
		r, err := f.Open()
		require.NoError(t, err)
		b, err := io.ReadAll(r)
		require.NoError(t, err)
		require.NoError(t, r.Close())
		parts[f.Name] = string(b)
	}
	return parts
}

// xmlText is the character data of an XML text, one line an element.
func xmlText(t *testing.T, text string) string {
	t.Helper()
	var b strings.Builder
	d := xml.NewDecoder(strings.NewReader(text))
	for {
		token, err := d.Token()
		if errors.Is(err, io.EOF) {
			return b.String()
		}
		require.NoError(t, err)
		switch x := token.(type) {
		case xml.CharData:
			b.Write(x)
		case xml.EndElement:
			b.WriteByte('\n')
		}
	}
}

// pdfText is the text of a PDF, read by pdftotext. A machine without it skips
// the test; the whole check (.ci/run) installs it.
func pdfText(t *testing.T, path string) string {
	t.Helper()
	if _, err := exec.LookPath("pdftotext"); err != nil && os.Getenv("CI") == "" {
		t.Skip("pdftotext is not installed")
	}
	out, err := exec.Command("pdftotext", "-layout", path, "-").Output()
	require.NoError(t, err, "hint: apt-get install poppler-utils")
	return string(out)
}
