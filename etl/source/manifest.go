package source

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"

	"chestrise/etl/record"
	"chestrise/etl/rule"
)

// ManifestName is the file that announces a delivery.
const ManifestName = "manifest.json"

const largestManifest = 1 << 20

var codeShape = regexp.MustCompile(`^[A-Za-z0-9][A-Za-z0-9._-]{0,31}$`)

// ReadManifest reads the manifest of the delivery in folder. Where problems
// come back, all of them do, each with its line and column, and the delivery
// holds what could be read.
func ReadManifest(folder string) (record.Delivery, []record.Problem) {
	raw, err := readSmall(filepath.Join(folder, ManifestName))
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return record.Delivery{}, []record.Problem{{
			Rule: rule.ManifestMissing, File: ManifestName, Message: "the folder holds no manifest",
			Hint: "a delivery is a folder with manifest.json, newborns.csv and events.csv; the source writes the manifest last",
		}}
	case err != nil:
		return record.Delivery{}, []record.Problem{{Rule: rule.FileUnreadable, File: ManifestName, Message: plain(err)}}
	}
	return ParseManifest(raw)
}

// ParseManifest reads a manifest from its bytes; see ReadManifest.
func ParseManifest(raw []byte) (record.Delivery, []record.Problem) {
	root, err := parseJSON(raw)
	if err != nil {
		p := record.Problem{Rule: rule.ManifestSyntax, File: ManifestName, Message: "not a JSON object: " + err.Error()}
		if syntax, ok := errors.AsType[*json.SyntaxError](err); ok {
			p.Line, p.Column = position(raw, int(syntax.Offset))
		}
		return record.Delivery{}, []record.Problem{p}
	}
	r := &manifest{raw: raw}
	r.delivery.Manifest = sha256.Sum256(raw)
	r.read(root)
	slices.SortStableFunc(r.problems, func(a, b record.Problem) int {
		if a.Line != b.Line {
			return a.Line - b.Line
		}
		return a.Column - b.Column
	})
	return r.delivery, r.problems
}

// manifest reads a parsed manifest and gathers what is wrong with it.
type manifest struct {
	raw      []byte
	delivery record.Delivery
	problems []record.Problem
}

func (r *manifest) report(rule string, at int, message string, args ...any) {
	line, column := position(r.raw, at)
	r.problems = append(r.problems, record.Problem{Rule: rule, File: ManifestName, Line: line, Column: column, Message: fmt.Sprintf(message, args...)})
}

// fields returns the members of an object by name; names ending in "?" may be
// absent, all others must be there, and none but these may.
func (r *manifest) fields(n *node, where string, names ...string) map[string]*node {
	found := map[string]*node{}
	if n.kind != object {
		r.report(rule.ManifestValue, n.at, "%s is not an object", where)
		return found
	}
	for _, m := range n.members {
		switch {
		case found[m.name] != nil:
			r.report(rule.ManifestKey, m.at, "key %q stands twice in %s", m.name, where)
		case !slices.Contains(names, m.name) && !slices.Contains(names, m.name+"?"):
			r.report(rule.ManifestKey, m.at, "unknown key %q in %s", m.name, where)
		default:
			found[m.name] = m.value
		}
	}
	for _, name := range names {
		if !strings.HasSuffix(name, "?") && found[name] == nil {
			r.report(rule.ManifestKey, n.at, "%s lacks the key %q", where, name)
		}
	}
	return found
}

func (r *manifest) read(root *node) {
	d := &r.delivery
	f := r.fields(root, "the manifest", "source", "unit", "period", "coverage", "mode", "sequence",
		"extracted_at", "privacy_mode", "agreement?", "synthetic?", "files", "recording?")
	d.Source = r.code(f["source"], "source")
	d.Units = r.units(f["unit"])
	d.Coverage = record.Coverage(r.choice(f["coverage"], "coverage", record.Coverages))
	d.Mode = record.Mode(r.choice(f["mode"], "mode", record.Modes))
	d.Sequence = r.whole(f["sequence"], "sequence", 1)
	d.ExtractedAt = r.instant(f["extracted_at"], "extracted_at")
	d.Privacy = record.Privacy(r.choice(f["privacy_mode"], "privacy_mode", record.Privacies))
	d.Agreement = r.text(f["agreement"], "agreement")
	if d.Privacy == record.Limited && d.Agreement == "" {
		r.report(rule.ManifestValue, f["privacy_mode"].at, "privacy mode limited needs the id of the agreement under \"agreement\"")
	}
	if n := f["synthetic"]; n != nil {
		yes, ok := n.value.(bool)
		if !ok {
			r.report(rule.ManifestValue, n.at, "synthetic is neither true nor false")
		}
		d.Synthetic = yes
	}
	if n := f["period"]; n != nil {
		p := r.fields(n, "period", "first", "last")
		d.From = r.month(p["first"], "period.first", d.Privacy)
		d.To = r.month(p["last"], "period.last", d.Privacy)
		if d.Privacy == record.YearOnly && d.To != 0 {
			d.To += 11 // the whole of the last year
		}
		if d.From != 0 && d.To != 0 && d.From > d.To {
			r.report(rule.ManifestValue, n.at, "the period ends before it begins")
		}
	}
	d.Files = r.files(f["files"])
	d.Recording = r.recording(f["recording"], d)
}

func (r *manifest) units(n *node) []string {
	var units []string
	for _, item := range r.items(n, "unit", 1) {
		u := r.code(item, "a unit")
		if slices.Contains(units, u) {
			r.report(rule.ManifestValue, item.at, "unit stands twice")
			continue
		}
		units = append(units, u)
	}
	return units
}

func (r *manifest) files(n *node) []record.File {
	var files []record.File
	for _, item := range r.items(n, "files", 1) {
		f := r.fields(item, "a file", "name", "rows", "sha256")
		file := record.File{Name: r.text(f["name"], "name"), Rows: r.whole(f["rows"], "rows", 0)}
		if f["name"] != nil && (file.Name == "" || file.Name != filepath.Base(file.Name) || strings.HasPrefix(file.Name, ".")) {
			r.report(rule.ManifestValue, f["name"].at, "name is not the plain name of a file in the folder")
			continue
		}
		if slices.ContainsFunc(files, func(x record.File) bool { return x.Name == file.Name }) {
			r.report(rule.ManifestValue, item.at, "file %s stands twice", file.Name)
			continue
		}
		if h := f["sha256"]; h != nil {
			sum, err := hex.DecodeString(r.text(h, "sha256"))
			if err != nil || len(sum) != len(file.SHA256) {
				r.report(rule.ManifestValue, h.at, "sha256 is not 64 hexadecimal digits")
			}
			copy(file.SHA256[:], sum)
		}
		files = append(files, file)
	}
	return files
}

func (r *manifest) recording(n *node, d *record.Delivery) []record.Recording {
	var all []record.Recording
	for _, item := range r.items(n, "recording", 0) {
		f := r.fields(item, "an entry of recording", "unit", "from", "how?", "time_unit_s?", "form?", "temperature_site?")
		c := record.Recording{
			Unit: r.code(f["unit"], "unit"),
			From: r.month(f["from"], "from", d.Privacy),
			How:  record.How(r.choice(f["how"], "how", record.Hows[1:])),
			Form: r.text(f["form"], "form"),
		}
		if f["unit"] != nil && !slices.Contains(d.Units, c.Unit) {
			r.report(rule.ManifestValue, f["unit"].at, "the unit is not one of the manifest's units")
		}
		if u := f["time_unit_s"]; u != nil {
			s := r.whole(u, "time_unit_s", 1)
			if s > 60 || !slices.Contains(record.TimeUnits, uint8(s)) {
				r.report(rule.ManifestValue, u.at, "time_unit_s is not one of 1, 5, 10, 30, 60")
			}
			c.TimeUnit = uint8(s)
		}
		sites := record.Fields[record.TempSite].Codes
		if i := r.choice(f["temperature_site"], "temperature_site", sites); i > 0 {
			c.TempSite = sites[i-1]
		}
		all = append(all, c)
	}
	return all
}

func (r *manifest) items(n *node, name string, atLeast int) []*node {
	if n == nil {
		return nil
	}
	if n.kind != list || len(n.items) < atLeast {
		r.report(rule.ManifestValue, n.at, "%s is not a list with at least %d entries", name, atLeast)
		return nil
	}
	return n.items
}

func (r *manifest) text(n *node, name string) string {
	if n == nil {
		return ""
	}
	s, ok := n.value.(string)
	if !ok || s == "" || len(s) > 200 {
		r.report(rule.ManifestValue, n.at, "%s is not a text of 1 to 200 characters", name)
		return ""
	}
	return s
}

func (r *manifest) code(n *node, name string) string {
	if n == nil {
		return ""
	}
	s, _ := n.value.(string)
	if !codeShape.MatchString(s) {
		r.report(rule.ManifestValue, n.at, "%s is not a code of 1 to 32 letters, digits, dots, hyphens and underscores", name)
		return ""
	}
	return s
}

// choice returns the 1-based place of a word in its list, 0 if there is none.
func (r *manifest) choice(n *node, name string, words []string) int {
	if n == nil {
		return 0
	}
	s, _ := n.value.(string)
	i := slices.Index(words, s)
	if i < 0 {
		r.report(rule.ManifestValue, n.at, "%s is not one of %s", name, strings.Join(words, ", "))
	}
	return i + 1
}

func (r *manifest) whole(n *node, name string, least int64) int64 {
	if n == nil {
		return 0
	}
	number, _ := n.value.(json.Number)
	i, err := strconv.ParseInt(number.String(), 10, 64)
	if err != nil || i < least {
		r.report(rule.ManifestValue, n.at, "%s is not a whole number of %d or more", name, least)
		return 0
	}
	return i
}

func (r *manifest) instant(n *node, name string) time.Time {
	if n == nil {
		return time.Time{}
	}
	s, _ := n.value.(string)
	t, err := time.Parse(time.RFC3339, s)
	if err != nil {
		r.report(rule.ManifestValue, n.at, "%s is not a date and time with its offset, such as 2026-04-01T02:10:00Z", name)
		return time.Time{}
	}
	return t
}

func (r *manifest) month(n *node, name string, mode record.Privacy) record.Month {
	if n == nil {
		return 0
	}
	s, _ := n.value.(string)
	m, err := ParseMonth(s, mode)
	if err != nil {
		r.report(rule.ManifestValue, n.at, "%s: %v", name, err)
	}
	return m
}

// ParseMonth reads the month of a birth, YYYY-MM; in privacy mode year-only
// the year, YYYY, which stands for its January.
func ParseMonth(s string, mode record.Privacy) (record.Month, error) {
	if mode != record.YearOnly {
		return record.ParseMonth(s)
	}
	year, err := strconv.Atoi(s)
	if err != nil || len(s) != 4 || year < 1 {
		return 0, errors.New("year is not of the form YYYY")
	}
	return record.MonthOf(year, 1), nil
}

func readSmall(path string) ([]byte, error) {
	info, err := os.Stat(path)
	if err != nil {
		return nil, err
	}
	if info.IsDir() || info.Size() > largestManifest {
		return nil, fmt.Errorf("not a file of at most %d bytes", largestManifest)
	}
	return os.ReadFile(path)
}

// plain says what went wrong with a file without repeating its path.
func plain(err error) string {
	if path, ok := errors.AsType[*fs.PathError](err); ok {
		return path.Op + ": " + path.Err.Error()
	}
	return err.Error()
}
