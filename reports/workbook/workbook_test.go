package workbook_test

import (
	"bytes"
	"os"
	"testing"

	"github.com/stretchr/testify/require"

	"chestrise/reports"
	"chestrise/reports/workbook"
)

func render(t *testing.T, d *reports.Document, s reports.Stamp) []byte {
	t.Helper()
	var buf bytes.Buffer
	require.NoError(t, workbook.Renderer{}.Render(&buf, d, s))
	return buf.Bytes()
}

func TestSample(t *testing.T) {
	d, s := sample()
	b := render(t, d, s)
	if to := os.Getenv("WORKBOOK_OUT"); to != "" {
		require.NoError(t, os.WriteFile(to, b, 0o600))
	}
}
