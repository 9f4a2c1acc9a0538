package metrics

import (
	"errors"
	"fmt"
	"io/fs"
	"path"
	"slices"

	"github.com/goccy/go-yaml/ast"

	"chestrise/etl/record"
	"chestrise/metrics/cell"
	"chestrise/metrics/yamlfile"
)

// Settings are what people decided about charts. Nothing in them is ever changed
// by a night.
type Settings struct {
	Windows       []Window
	Phases        []PhaseStart
	Interventions []Label
	GraceDays     int                     // days after the end of a month until it may close
	Retired       map[string]record.Month // sources that send no more, with their last month
	Editions      map[string][]cell.Change
}

// DefaultGrace is how many days after the end of a month late records are waited
// for, where no setting says otherwise. Common practice, no source.
const DefaultGrace = 5

// Window declares which months a baseline rests on, and may fix its chart. The
// zero fields stand for every unit, every measure, and the default choice.
type Window struct {
	Unit, Measure string
	From, To      record.Month
	Period        Period // "": proposed from the numbers of the window
	Reason        string
}

// PhaseStart is a new phase that a person recorded: new limits begin.
type PhaseStart struct {
	Unit, Measure string // Measure "": every measure
	From          record.Month
	Reason        string
	DecidedBy     string // a role, never a name
	Signal        string // the signal it rests on, in words
}

// Label is an intervention: a mark on the axis. Limits and rules run through it.
type Label struct {
	Unit     string   // "": every unit
	Measures []string // nil: every measure
	From     record.Month
	Label    string
	Text     string
}

// LoadSettings reads baselines.yaml, phases.yaml, interventions.yaml and
// calendar.yaml from a folder of fsys; a file that is not there settles nothing.
// Names in messages are prefix joined with the path. All problems are reported at
// once, as yamlfile.Problems.
func LoadSettings(fsys fs.FS, prefix, folder string) (Settings, error) {
	s := Settings{Windows: nil, Phases: nil, Interventions: nil, GraceDays: DefaultGrace, Retired: nil, Editions: nil}
	var problems yamlfile.Problems
	for _, part := range []struct {
		name string
		read func(*yamlfile.File, ast.Node)
	}{
		{"baselines.yaml", s.readWindows},
		{"phases.yaml", s.readPhases},
		{"interventions.yaml", s.readInterventions},
		{"calendar.yaml", s.readCalendar},
	} {
		src, err := fs.ReadFile(fsys, path.Join(folder, part.name))
		if errors.Is(err, fs.ErrNotExist) {
			continue
		}
		if err != nil {
			return s, fmt.Errorf("settings: %w", err)
		}
		f := &yamlfile.File{Path: path.Join(prefix, folder, part.name), Lines: nil, Problems: nil}
		if root := f.Root(src); root != nil {
			part.read(f, root)
		}
		problems = append(problems, f.Problems...)
	}
	return s, problems.Err()
}

func (s *Settings) readWindows(f *yamlfile.File, root ast.Node) {
	list(f, root, "windows", func(n ast.Node) {
		w := Window{Unit: "", Measure: "", From: 0, To: 0, Period: "", Reason: ""}
		f.Keys(n, "window", []string{"from", "to", "reason"}, map[string]func(ast.Node){
			"unit":    f.Sentence(&w.Unit, "unit"),
			"measure": f.Sentence(&w.Measure, "measure"),
			"from":    month(f, &w.From, "from"),
			"to":      month(f, &w.To, "to"),
			"period":  yamlfile.OneOf(f, &w.Period, "period", Monthly, Quarterly),
			"reason":  f.Sentence(&w.Reason, "reason"),
		})
		if w.From > w.To && w.To != 0 {
			f.Report(yamlfile.Start(n), "", "window ends before it begins")
		}
		s.Windows = append(s.Windows, w)
	})
}

func (s *Settings) readPhases(f *yamlfile.File, root ast.Node) {
	list(f, root, "phases", func(n ast.Node) {
		p := PhaseStart{Unit: "", Measure: "", From: 0, Reason: "", DecidedBy: "", Signal: ""}
		f.Keys(n, "phase", []string{"unit", "from", "reason", "decided_by", "signal"}, map[string]func(ast.Node){
			"unit":       f.Sentence(&p.Unit, "unit"),
			"measure":    f.Sentence(&p.Measure, "measure"),
			"from":       month(f, &p.From, "from"),
			"reason":     f.Sentence(&p.Reason, "reason"),
			"decided_by": f.Sentence(&p.DecidedBy, "decided_by"),
			"signal":     f.Sentence(&p.Signal, "signal"),
		})
		s.Phases = append(s.Phases, p)
	})
}

func (s *Settings) readInterventions(f *yamlfile.File, root ast.Node) {
	list(f, root, "interventions", func(n ast.Node) {
		l := Label{Unit: "", Measures: nil, From: 0, Label: "", Text: ""}
		f.Keys(n, "intervention", []string{"from", "label"}, map[string]func(ast.Node){
			"unit":     f.Sentence(&l.Unit, "unit"),
			"measures": f.Sentences(&l.Measures, "measures"),
			"from":     month(f, &l.From, "from"),
			"label":    f.Sentence(&l.Label, "label"),
			"text":     f.Sentence(&l.Text, "text"),
		})
		if len([]rune(l.Label)) > 32 {
			f.Report(yamlfile.Start(n), "put the rest into the key \"text\"", "label is longer than 32 characters and would not fit on an axis")
		}
		s.Interventions = append(s.Interventions, l)
	})
}

func (s *Settings) readCalendar(f *yamlfile.File, root ast.Node) {
	f.Keys(root, "the calendar", nil, map[string]func(ast.Node){
		"grace_days": f.Integer(&s.GraceDays, "grace_days", 0, 60),
		"retired": func(n ast.Node) {
			f.Items(n, "retired", func(v ast.Node) {
				var source string
				var last record.Month
				f.Keys(v, "retired source", []string{"source", "last"}, map[string]func(ast.Node){
					"source": f.Sentence(&source, "source"),
					"last":   month(f, &last, "last"),
				})
				if s.Retired == nil {
					s.Retired = map[string]record.Month{}
				}
				s.Retired[source] = last
			})
		},
	})
}

// list reads a document of one key with a list below it.
func list(f *yamlfile.File, root ast.Node, key string, read func(ast.Node)) {
	f.Keys(root, "the file", []string{key}, map[string]func(ast.Node){
		key: func(n ast.Node) { f.Items(n, key, read) },
	})
}

func month(f *yamlfile.File, to *record.Month, what string) func(ast.Node) {
	return func(n ast.Node) {
		s, ok := f.Scalar(n, what)
		if !ok {
			return
		}
		m, err := record.ParseMonth(s)
		if err != nil {
			f.Report(n.GetToken(), "write it as 2026-03", "%s is no month: %q", what, s)
			return
		}
		*to = m
	}
}

// Check says which settings name a unit or a measure that is not there; nil units
// or measures are not checked.
func (s Settings) Check(units, measures []string) []string {
	var out []string
	miss := func(what, unit, id string) {
		if unit != "" && units != nil && !slices.Contains(units, unit) {
			out = append(out, fmt.Sprintf("%s: unit %q is not known", what, unit))
		}
		if id != "" && measures != nil && !slices.Contains(measures, id) {
			out = append(out, fmt.Sprintf("%s: measure %q is not in the catalogue", what, id))
		}
	}
	for _, w := range s.Windows {
		miss("baselines", w.Unit, w.Measure)
	}
	for _, p := range s.Phases {
		miss("phases", p.Unit, p.Measure)
	}
	for _, l := range s.Interventions {
		miss("interventions", l.Unit, "")
		for _, id := range l.Measures {
			miss("interventions", "", id)
		}
	}
	return out
}
