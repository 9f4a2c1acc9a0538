package workbook_test

import (
	"context"
	"encoding/csv"
	"os"
	"os/exec"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"chestrise/reports"
)

// TestLibreOfficeShowsTheSameNumbers is the check by another program: it opens
// the workbook, shows its cells as text, and prints it. It is left out where
// that program is not installed; every other test reads the file itself.
func TestLibreOfficeShowsTheSameNumbers(t *testing.T) {
	soffice, err := exec.LookPath("soffice")
	if err != nil || testing.Short() {
		t.Skip("soffice is not installed, or -short")
	}
	dir := t.TempDir()
	d, s := sample()
	file := filepath.Join(dir, "sample.xlsx")
	require.NoError(t, os.WriteFile(file, render(t, d, s), 0o600))
	convert := func(to string) {
		ctx, stop := context.WithTimeout(t.Context(), 2*time.Minute)
		defer stop()
		cmd := exec.CommandContext(ctx, soffice, "-env:UserInstallation=file://"+dir+"/profile", "--headless",
			"--convert-to", to, "--outdir", dir, file)
		out, err := cmd.CombinedOutput()
		require.NoError(t, err, "%s", out)
	}
	// one file a sheet (-1), cells as they are shown (the first two true)
	convert("csv:Text - txt - csv (StarCalc):44,34,76,1,,0,false,true,true,false,false,-1")
	checked := 0
	for _, sec := range d.Sections {
		for _, b := range sec.Blocks {
			table, ok := b.(reports.Table)
			if !ok || len(table.Rows) == 0 {
				continue
			}
			rows := readCSV(t, filepath.Join(dir, "sample-"+sec.Sheet+".csv"))
			first := -1
			for i, r := range rows {
				if r[0] == table.Columns[0].Title && r[1] == table.Columns[1].Title {
					first = i + 1
				}
			}
			require.Positive(t, first, "the headings of %s", table.Name)
			for r, row := range table.Rows {
				for c, cell := range row {
					require.Equal(t, cell.Read(table.Columns[c].Format, d.Locale), rows[first+r][c])
					checked++
				}
			}
		}
	}
	require.Greater(t, checked, 200)
	m := shares(36, 1)
	rows := readCSV(t, filepath.Join(dir, "sample-Begun by 60 s.csv"))
	at := 0
	for i, r := range rows {
		if r[0] == "period" && r[1] == "no." {
			at = i + 1
		}
	}
	require.Positive(t, at)
	for i, p := range m.Points {
		want := ""
		if p.Has {
			want = m.Y.Format.Text(p.Value)
		}
		require.Equal(t, want, rows[at+i][4])
		require.Equal(t, m.Y.Format.Text(*p.Lower), rows[at+i][8])
		require.Equal(t, m.Y.Format.Text(*p.Upper), rows[at+i][9])
	}
	convert("pdf")
	info, err := os.Stat(filepath.Join(dir, "sample.pdf"))
	require.NoError(t, err)
	require.Greater(t, info.Size(), int64(20_000))
}

func readCSV(t *testing.T, file string) [][]string {
	t.Helper()
	f, err := os.Open(file)
	require.NoError(t, err)
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	require.NoError(t, err)
	return rows
}
