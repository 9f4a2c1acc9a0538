// Report prints what the tests of the external check cases noted: case, method, source
// and how it was had, expected, ours, difference, verdict. Its last line counts passed
// and failed checks; a case that no test looked at counts as failed. Exit code 1 if any
// failed.
//
//	dir=$(mktemp -d)
//	REFERENCE_REPORT=$dir go test -count=1 -run 'Reference|Grid' ./metrics/...
//	go run ./testdata/reference/report $dir
package main

import (
	"bufio"
	"encoding/json"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"chestrise/testdata/reference"
)

func main() {
	if len(os.Args) != 2 {
		fmt.Fprintln(os.Stderr, "usage: report FOLDER (that REFERENCE_REPORT named)")
		os.Exit(2)
	}
	failed, err := report(os.Stdout, os.Args[1])
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(2)
	}
	if failed > 0 {
		os.Exit(1)
	}
}

func report(w io.Writer, folder string) (failed int, err error) {
	names, err := reference.Names()
	if err != nil {
		return 0, err
	}
	grids, err := filepath.Glob(filepath.Join(folder, "grid_*.jsonl"))
	if err != nil {
		return 0, err
	}
	for _, g := range grids {
		names = append(names, strings.TrimSuffix(filepath.Base(g), ".jsonl"))
	}
	passed, misprints := 0, 0
	var notes []string
	for _, name := range names {
		rows, err := read(filepath.Join(folder, name+".jsonl"))
		if err != nil {
			return 0, err
		}
		if len(rows) == 0 {
			failed++
			fmt.Fprintf(w, "\n%s\n  FAIL: no test looked at this case\n", name)
			continue
		}
		fmt.Fprintf(w, "\n%s: %s\n  source: %s (%s)\n", name, rows[0].Method, rows[0].Source, rows[0].How)
		if strings.HasPrefix(name, "grid_") {
			passed, failed = summarise(w, rows, passed, failed)
			continue
		}
		for _, r := range rows {
			switch {
			case r.Verdict == "FAIL":
				failed++
			case r.Verdict == "pass":
				passed++
			default:
				misprints++
				notes = append(notes, fmt.Sprintf("%s, %s: %s, ours %s (%s)", name, r.What, r.Expected, r.Ours, r.Verdict))
			}
			fmt.Fprintf(w, "  %-34s %-40s %-40s %9.2g  %s\n", r.What, r.Expected, r.Ours, r.Difference, r.Verdict)
		}
	}
	if len(notes) > 0 {
		fmt.Fprintf(w, "\nprint or source differs from exact arithmetic (%d):\n  %s\n", misprints, strings.Join(notes, "\n  "))
	}
	fmt.Fprintf(w, "\n%d passed, %d failed\n", passed, failed)
	return failed, nil
}

// summarise prints the failures of a grid family and one line for the rest.
func summarise(w io.Writer, rows []reference.Row, passed, failed int) (int, int) {
	worst, good := 0.0, 0
	for _, r := range rows {
		if r.Verdict != "pass" {
			failed++
			fmt.Fprintf(w, "  %-34s %-40s %-40s %9.2g  %s\n", r.What, r.Expected, r.Ours, r.Difference, r.Verdict)
			continue
		}
		good++
		worst = max(worst, r.Difference)
	}
	fmt.Fprintf(w, "  %d values pass, largest difference %.2g\n", good, worst)
	return passed + good, failed
}

func read(path string) ([]reference.Row, error) {
	f, err := os.Open(path)
	if os.IsNotExist(err) {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	defer func() { _ = f.Close() }()
	var rows []reference.Row
	s := bufio.NewScanner(f)
	s.Buffer(nil, 1<<20)
	for s.Scan() {
		var r reference.Row
		if err := json.Unmarshal(s.Bytes(), &r); err != nil {
			return nil, fmt.Errorf("%s: %w", path, err)
		}
		rows = append(rows, r)
	}
	slices.SortStableFunc(rows, func(a, b reference.Row) int { return strings.Compare(a.What, b.What) })
	return rows, s.Err()
}
