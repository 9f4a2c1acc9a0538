package reference

import (
	"encoding/csv"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"testing"
)

// GridValue is one value of the grid beside this file: family, what was computed, up to
// four numeric arguments (NaN: none), and the value R gives.
type GridValue struct {
	Family, What string
	Args         [4]float64
	Value        float64
}

// GridValues reads the values of one family of the grid.
func GridValues(t *testing.T, family string) []GridValue {
	t.Helper()
	var out []GridValue
	for _, row := range gridFile(t, "values.csv") {
		if row["family"] != family {
			continue
		}
		v := GridValue{Family: family, What: row["what"], Args: [4]float64{}, Value: number(t, row["value"])}
		for i, k := range []string{"a", "b", "c", "d"} {
			v.Args[i] = number(t, row[k])
		}
		out = append(out, v)
	}
	if len(out) == 0 {
		t.Fatalf("the grid has no family %s", family)
	}
	return out
}

// GridColumns reads the numeric columns of one of the grid's data files.
func GridColumns(t *testing.T, file string) map[string][]float64 {
	t.Helper()
	out := map[string][]float64{}
	for _, row := range gridFile(t, file) {
		for k, v := range row {
			out[k] = append(out[k], number(t, v))
		}
	}
	return out
}

// Same compares a result with a value of the grid to a relative tolerance, or an
// absolute one of the same size near 0, and notes it for the report.
func (v GridValue) Same(t *testing.T, got, tolerance float64) {
	t.Helper()
	d := math.Abs(got - v.Value)
	ok := got == v.Value || d <= tolerance*math.Abs(v.Value) || math.Abs(v.Value) < 1e-300 && d <= tolerance
	verdict := "pass"
	if !ok {
		verdict = "FAIL"
		t.Errorf("%s %s %v: R gives %.17g, ours is %.17g", v.Family, v.What, v.Args, v.Value, got)
	}
	c := Case{
		Name: "grid_" + v.Family, Method: v.What, t: t,
		Source: Source{Title: "base R", HowObtained: "computed by grid/grid.R"},
	}
	c.record(v.What, v.Value, got, d, verdict)
}

func gridFile(t *testing.T, name string) []map[string]string {
	t.Helper()
	f, err := os.Open(filepath.Join(Folder(), "grid", name))
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = f.Close() }()
	rows, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	out := make([]map[string]string, 0, len(rows))
	for _, r := range rows[1:] {
		m := map[string]string{}
		for i, k := range rows[0] {
			m[k] = r[i]
		}
		out = append(out, m)
	}
	return out
}

func number(t *testing.T, s string) float64 {
	t.Helper()
	if s == "" || s == "NA" {
		return math.NaN()
	}
	v, err := strconv.ParseFloat(s, 64)
	if err != nil {
		t.Fatal(err)
	}
	return v
}
