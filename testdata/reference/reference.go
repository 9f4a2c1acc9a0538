// Package reference reads the external check cases beside it and compares results
// with them. A case holds its input, what was expected, where that came from, how
// it was had, and its own tolerance. Tests only.
package reference

import (
	"encoding/json"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"testing"
)

// Source says where a case comes from.
type Source struct {
	Title       string `json:"title"`
	Where       string `json:"where"`
	Year        int    `json:"year"`
	URL         string `json:"url_or_doi"`
	HowObtained string `json:"how_obtained"`
}

// Case is one check case.
type Case struct {
	Name       string             `json:"name"`
	Source     Source             `json:"source"`
	Method     string             `json:"method"`
	Input      map[string]any     `json:"input"`
	Expected   map[string]any     `json:"expected"`
	Tolerance  map[string]float64 `json:"tolerance"`
	Notes      string             `json:"notes"`
	Published  map[string]any     `json:"published"`
	PublishedT any                `json:"published_tolerance"`

	t *testing.T
}

// Folder is the folder that holds this file.
func Folder() string {
	_, file, _, _ := runtime.Caller(0)
	return filepath.Dir(file)
}

// Load reads the case called name and names its source in the test log.
func Load(t *testing.T, name string) *Case {
	t.Helper()
	raw, err := os.ReadFile(filepath.Join(Folder(), "cases", name+".json"))
	if err != nil {
		t.Fatal(err)
	}
	c := &Case{t: t}
	if err := json.Unmarshal(raw, c); err != nil {
		t.Fatalf("%s: %v", name, err)
	}
	t.Logf("source: %s, %s (%d) %s; %s", c.Source.Title, c.Source.Where, c.Source.Year, c.Source.URL, c.Source.HowObtained)
	return c
}

// Names lists the cases in the folder.
func Names() ([]string, error) {
	files, err := filepath.Glob(filepath.Join(Folder(), "cases", "*.json"))
	if err != nil {
		return nil, err
	}
	for i, f := range files {
		files[i] = strings.TrimSuffix(filepath.Base(f), ".json")
	}
	slices.Sort(files)
	return files, nil
}

// At walks a decoded JSON value by keys and indexes joined with dots.
func At(v any, path string) any {
	if path == "" {
		return v
	}
	if m, ok := v.(map[string]any); ok {
		if whole, ok := m[path]; ok { // a key that holds a dot itself
			return whole
		}
	}
	for part := range strings.SplitSeq(path, ".") {
		switch x := v.(type) {
		case map[string]any:
			v = x[part]
		case []any:
			var i int
			if _, err := fmt.Sscan(part, &i); err != nil || i < 0 || i >= len(x) {
				return nil
			}
			v = x[i]
		default:
			return nil
		}
	}
	return v
}

// Float reads a number of the input.
func (c *Case) Float(path string) float64 {
	c.t.Helper()
	f, ok := At(c.Input, path).(float64)
	if !ok {
		c.t.Fatalf("%s: input %s is no number", c.Name, path)
	}
	return f
}

// Floats reads a list of numbers of the input; null becomes NaN.
func (c *Case) Floats(path string) []float64 {
	c.t.Helper()
	list, ok := At(c.Input, path).([]any)
	if !ok {
		c.t.Fatalf("%s: input %s is no list", c.Name, path)
	}
	return toFloats(list)
}

// Lists reads a list of lists of numbers of the input.
func (c *Case) Lists(path string) [][]float64 {
	c.t.Helper()
	list, ok := At(c.Input, path).([]any)
	if !ok {
		c.t.Fatalf("%s: input %s is no list", c.Name, path)
	}
	out := make([][]float64, len(list))
	for i, v := range list {
		out[i] = toFloats(v.([]any))
	}
	return out
}

// Ints reads a list of whole numbers of the input.
func (c *Case) Ints(path string) []int {
	c.t.Helper()
	fs := c.Floats(path)
	out := make([]int, len(fs))
	for i, f := range fs {
		out[i] = int(f)
	}
	return out
}

// Strings reads a list of texts of the input.
func (c *Case) Strings(path string) []string {
	c.t.Helper()
	list, ok := At(c.Input, path).([]any)
	if !ok {
		c.t.Fatalf("%s: input %s is no list", c.Name, path)
	}
	out := make([]string, len(list))
	for i, v := range list {
		out[i] = fmt.Sprint(v)
	}
	return out
}

func toFloats(list []any) []float64 {
	out := make([]float64, len(list))
	for i, v := range list {
		switch x := v.(type) {
		case float64:
			out[i] = x
		case nil:
			out[i] = math.NaN()
		default:
			out[i] = math.NaN()
		}
	}
	return out
}

// Check compares got with the expected value at path by the case's own tolerance,
// and notes the difference. Pointers to nothing compare equal to null.
func (c *Case) Check(path string, got any) {
	c.t.Helper()
	want := At(c.Expected, path)
	if want == nil && !c.has(path) {
		c.t.Fatalf("%s: nothing expected at %s", c.Name, path)
	}
	worst, where := c.compare(want, plain(c.t, got), path, c.within)
	verdict := "pass"
	if where != "" {
		verdict = "FAIL"
		c.t.Errorf("%s: %s differs: %s", c.Name, path, where)
	}
	c.record(path, want, got, worst, verdict)
}

// CheckPublished compares got with a printed value by the tolerance of the print.
func (c *Case) CheckPublished(path string, got any) {
	c.t.Helper()
	want := At(c.Published, path)
	if want == nil {
		c.t.Fatalf("%s: nothing printed at %s", c.Name, path)
	}
	worst, where := c.compare(want, plain(c.t, got), path, func(p string, w, g float64) bool {
		return math.Abs(w-g) <= c.printTolerance(p)
	})
	verdict := "pass"
	if where != "" {
		verdict = "FAIL"
		c.t.Errorf("%s: printed %s differs: %s", c.Name, path, where)
	}
	c.record("printed "+path, want, got, worst, verdict)
}

// PrintDisagrees compares got with a printed list of which some values, counted from 1,
// are known to differ from exact arithmetic: those must differ, all others agree. A list
// of misprints must stay true.
func (c *Case) PrintDisagrees(path string, got any, misprints ...int) {
	c.t.Helper()
	want, isList := At(c.Published, path).([]any)
	ours, alsoList := plain(c.t, got).([]any)
	if !isList || !alsoList || len(want) != len(ours) || len(misprints) == 0 {
		c.t.Fatalf("%s: printed %s and ours are not lists of one length, or no misprint is named", c.Name, path)
	}
	for i := range want {
		at := fmt.Sprintf("%s.%d", path, i)
		worst, where := c.compare(want[i], ours[i], at, func(p string, w, g float64) bool {
			return math.Abs(w-g) <= c.printTolerance(p)
		})
		switch listed := slices.Contains(misprints, i+1); {
		case listed && where == "":
			c.t.Errorf("%s: printed %s now agrees", c.Name, at)
		case !listed && where != "":
			c.t.Errorf("%s: printed %s", c.Name, where)
		case listed:
			c.record("printed "+at, want[i], ours[i], worst, "print disagrees")
		default:
			c.record("printed "+at, want[i], ours[i], worst, "pass")
		}
	}
}

// Imprecise compares got with an expected value that was itself found only roughly
// (by a coarse root search, say), within the relative bound rel; why goes into the
// report. It fails if the value agrees by the case's own tolerance after all.
func (c *Case) Imprecise(path string, got any, rel float64, why string) {
	c.t.Helper()
	want := At(c.Expected, path)
	worst, where := c.compare(want, plain(c.t, got), path, func(_ string, w, g float64) bool {
		return math.Abs(w-g) <= rel*math.Abs(w)
	})
	if where != "" {
		c.t.Errorf("%s: %s differs by more than the rough bound: %s", c.Name, path, where)
	}
	if _, where := c.compare(want, plain(c.t, got), path, c.within); where == "" {
		c.t.Errorf("%s: %s now agrees", c.Name, path)
	}
	c.record(path, want, got, worst, "expected value rough: "+why)
}

func (c *Case) has(path string) bool {
	if _, ok := c.Expected[path]; ok {
		return true
	}
	i := strings.LastIndex(path, ".")
	if i < 0 {
		_, ok := c.Expected[path]
		return ok
	}
	switch x := At(c.Expected, path[:i]).(type) {
	case map[string]any:
		_, ok := x[path[i+1:]]
		return ok
	case []any:
		return true
	}
	return false
}

func (c *Case) printTolerance(path string) float64 {
	switch t := c.PublishedT.(type) {
	case float64:
		return t
	case map[string]any:
		parts := strings.Split(path, ".")
		v := t[parts[0]]
		for key := range t { // a key that holds a dot itself
			if strings.Contains(key, ".") && (path == key || strings.HasPrefix(path, key+".")) {
				v, parts = t[key], append([]string{key}, strings.Split(strings.TrimPrefix(path, key), ".")[1:]...)
			}
		}
		for _, p := range parts[1:] {
			list, ok := v.([]any)
			if !ok {
				break
			}
			var i int
			if _, err := fmt.Sscan(p, &i); err != nil || i >= len(list) {
				break
			}
			v = list[i]
		}
		if f, ok := v.(float64); ok {
			return f
		}
	}
	c.t.Fatalf("%s: no tolerance for the print at %s", c.Name, path)
	return 0
}

func (c *Case) within(_ string, want, got float64) bool {
	d := math.Abs(want - got)
	if abs, ok := c.Tolerance["abs"]; ok && d <= abs {
		return true
	}
	rel, ok := c.Tolerance["rel"]
	return ok && d <= rel*math.Abs(want)
}

// compare walks two decoded JSON values; it returns the largest difference and,
// where something is out of tolerance, the first place.
func (c *Case) compare(want, got any, path string, ok func(string, float64, float64) bool) (worst float64, where string) {
	switch w := want.(type) {
	case float64:
		g, isNumber := got.(float64)
		if !isNumber {
			return math.Inf(1), fmt.Sprintf("%s: want %v, got %v", path, want, got)
		}
		if !ok(path, w, g) {
			where = fmt.Sprintf("%s: want %.15g, got %.15g", path, w, g)
		}
		return math.Abs(w - g), where
	case []any:
		g, isList := got.([]any)
		if !isList || len(g) != len(w) {
			return math.Inf(1), fmt.Sprintf("%s: want %d values %v, got %v", path, len(w), short(want), short(got))
		}
		for i := range w {
			d, at := c.compare(w[i], g[i], fmt.Sprintf("%s.%d", path, i), ok)
			worst = max(worst, d)
			if where == "" {
				where = at
			}
		}
		return worst, where
	default:
		if fmt.Sprint(want) != fmt.Sprint(got) {
			return math.Inf(1), fmt.Sprintf("%s: want %v, got %v", path, want, got)
		}
		return 0, ""
	}
}

func plain(t *testing.T, v any) any {
	t.Helper()
	raw, err := json.Marshal(v)
	if err != nil {
		t.Fatalf("a result that JSON cannot hold (NaN or infinite): %v", err)
	}
	var out any
	if err := json.Unmarshal(raw, &out); err != nil {
		t.Fatal(err)
	}
	if list, ok := v.([]int); ok && list == nil {
		return []any{}
	}
	return out
}

func short(v any) string {
	raw, err := json.Marshal(v)
	if err != nil {
		return fmt.Sprint(v)
	}
	if len(raw) > 40 {
		return string(raw[:36]) + " ..."
	}
	return string(raw)
}

// ReportVariable names the environment variable with the folder to which each
// check appends its line; `go run ./testdata/reference/report` prints them.
const ReportVariable = "REFERENCE_REPORT"

// Row is one check as the report prints it.
type Row struct {
	Case, Method, Source, How, What, Expected, Ours, Verdict string
	Difference                                               float64
}

func (c *Case) record(what string, want, got any, difference float64, verdict string) {
	c.t.Helper()
	folder := os.Getenv(ReportVariable)
	if folder == "" {
		return
	}
	if math.IsInf(difference, 0) {
		difference = -1
	}
	line, err := json.Marshal(Row{
		Case: c.Name, Method: c.Method, Source: c.Source.Title, How: c.Source.HowObtained,
		What: what, Expected: short(want), Ours: short(got), Difference: difference, Verdict: verdict,
	})
	if err != nil {
		c.t.Fatal(err)
	}
	f, err := os.OpenFile(filepath.Join(folder, c.Name+".jsonl"), os.O_CREATE|os.O_APPEND|os.O_WRONLY, 0o600)
	if err != nil {
		c.t.Fatal(err)
	}
	defer func() { _ = f.Close() }()
	if _, err := f.Write(append(line, '\n')); err != nil {
		c.t.Fatal(err)
	}
}
