package cases

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"github.com/goccy/go-yaml/ast"
	"github.com/goccy/go-yaml/token"

	"chestrise/etl/record"
	"chestrise/metrics/yamlfile"
)

// Settings are what the hospital decided about its case packets.
type Settings struct {
	Cases  int // triggered cases in a packet at most
	Alike  int // of them, resting on the same trigger, while there are others
	Sample int // newborns drawn at random among those without a trigger
	Rare   int // what fewer newborns of the period share is not shown

	Holders         map[uint8]int // how many people hold a role, by code of record.Operator
	LeastHolders    int           // fewer, and the role is not named
	Confidentiality string        // the hospital's own wording, on every page; the software claims nothing
	ConfirmedBy     string        // the role that confirmed the wording

	Triggers     []Trigger
	Published    []PublishedRange
	Band         SaturationBand
	Expectations Expectations
}

// PublishedRange is a published range or check on devices and doses.
type PublishedRange struct {
	About  string // one of Abouts
	Text   string
	Source string // empty: common practice, no source
}

// Abouts are what published ranges may be about.
var Abouts = []string{
	"tube-size", "tube-depth", "attempt-length", "saturation-fall", "compressions", "epinephrine-iv", "epinephrine-tracheal", "volume",
	"mask-size", "self-inflating", "starting-oxygen",
}

// SaturationBand is a published band of oxygen saturation by minute from birth.
type SaturationBand struct {
	Name   string
	Source string
	Points []BandPoint
}

// BandPoint is the band at one minute, in per cent.
type BandPoint struct{ Minute, Low, High float64 }

// Expectations are lines that put a local aim beside what was recorded. Off
// unless the hospital decided otherwise.
type Expectations struct {
	On        bool
	DecidedBy string // a role
	Lines     []ExpectationLine
}

// ExpectationLine is one aim.
type ExpectationLine struct {
	Words string // "first inflation"
	Fact  string // without _lo and _hi where it is an interval
	Aim   string // "60 s"
	Unit  string // of the recorded value, as printed
	Step  string // compressions, drugs or airway; a limit agreed before birth leaves the line out
	Await bool   // a decision that was awaited leaves the line out
	fact  record.Fact
	upper record.Fact
}

// Default sizes of a packet; common practice, no source.
const (
	defaultCases   = 6
	defaultAlike   = 2
	defaultSample  = 1
	defaultRare    = 5
	defaultHolders = 5
)

var steps = []string{"compressions", "drugs", "airway"}

// Load reads the settings of case packets. Name stands in messages. All problems
// are reported at once, as yamlfile.Problems.
func Load(name string, src []byte) (*Settings, error) {
	s := &Settings{
		Cases: defaultCases, Alike: defaultAlike, Sample: defaultSample, Rare: defaultRare, Holders: map[uint8]int{}, LeastHolders: defaultHolders,
		Confidentiality: "", ConfirmedBy: "", Triggers: nil, Published: nil,
		Band:         SaturationBand{Name: "", Source: "", Points: nil},
		Expectations: Expectations{On: false, DecidedBy: "", Lines: nil},
	}
	f := &yamlfile.File{Path: name, Lines: nil, Problems: nil}
	root := f.Root(src)
	if root == nil {
		return s, f.Problems.Err()
	}
	f.Keys(root, "the file", []string{"triggers"}, map[string]func(ast.Node){
		"cases":           f.Integer(&s.Cases, "cases", 0, 50),
		"alike":           f.Integer(&s.Alike, "alike", 1, 50),
		"sample":          f.Integer(&s.Sample, "sample", 0, 20),
		"rare":            f.Integer(&s.Rare, "rare", 1, 50),
		"roles":           s.readRoles(f),
		"confidentiality": s.readWording(f),
		"triggers":        func(n ast.Node) { f.Items(n, "triggers", func(v ast.Node) { s.readTrigger(f, v) }) },
		"published":       func(n ast.Node) { f.Items(n, "published", func(v ast.Node) { s.readPublished(f, v) }) },
		"saturation_band": func(n ast.Node) { s.readBand(f, n) },
		"expectations":    func(n ast.Node) { s.readExpectations(f, n) },
	})
	return s, f.Problems.Err()
}

func (s *Settings) readRoles(f *yamlfile.File) func(ast.Node) {
	roles := record.Events[record.Operator].Codes
	return func(n ast.Node) {
		f.Keys(n, "roles", []string{"people"}, map[string]func(ast.Node){
			"least": f.Integer(&s.LeastHolders, "least", 2, 100),
			"people": func(v ast.Node) {
				f.Pairs(v, "people", func(k *token.Token, n ast.Node) {
					c := record.CodeOf(roles, k.Value)
					if c == 0 {
						f.Report(k, oneOf(k.Value, roles), "role %q is not in the dictionary", k.Value)
						return
					}
					var people int
					f.Integer(&people, "people of a role", 0, 10000)(n)
					s.Holders[c] = people
				})
			},
		})
	}
}

func (s *Settings) readWording(f *yamlfile.File) func(ast.Node) {
	return func(n ast.Node) {
		f.Keys(n, "confidentiality", []string{"wording", "confirmed_by"}, map[string]func(ast.Node){
			"wording":      f.Sentence(&s.Confidentiality, "wording"),
			"confirmed_by": f.Sentence(&s.ConfirmedBy, "confirmed_by"),
		})
	}
}

func (s *Settings) readTrigger(f *yamlfile.File, n ast.Node) {
	t := Trigger{ID: "", Title: "", When: nil, Step: "", Comfort: false, Expected: Expected{Source: "", Shares: nil}, Measures: nil}
	f.Keys(n, "trigger", []string{"id", "title", "when"}, map[string]func(ast.Node){
		"id":    f.Sentence(&t.ID, "id"),
		"title": f.Sentence(&t.Title, "title"),
		"when": func(v ast.Node) {
			f.Items(v, "when", func(v ast.Node) { t.When = append(t.When, readCondition(f, v)) })
		},
		"step":     yamlfile.OneOf(f, &t.Step, "step", steps...),
		"comfort":  f.Boolean(&t.Comfort, "comfort"),
		"measures": f.Sentences(&t.Measures, "measures"),
		"expected": func(v ast.Node) { t.Expected = readExpected(f, v) },
	})
	if len(t.When) == 0 {
		f.Report(yamlfile.Start(n), "", "a trigger needs at least one condition")
	}
	if slices.ContainsFunc(s.Triggers, func(o Trigger) bool { return o.ID == t.ID }) {
		f.Report(yamlfile.Start(n), "", "trigger %q is there twice", t.ID)
	}
	s.Triggers = append(s.Triggers, t)
}

func readExpected(f *yamlfile.File, n ast.Node) Expected {
	e := Expected{Source: "", Shares: map[uint8]float64{}}
	f.Keys(n, "expected", []string{"source", "share"}, map[string]func(ast.Node){
		"source": f.Sentence(&e.Source, "source"),
		"share": func(v ast.Node) {
			bands := record.FactSpecs[record.FactGestationBand].Codes
			f.Pairs(v, "share", func(k *token.Token, n ast.Node) {
				b := record.CodeOf(bands, k.Value)
				if b == 0 || b == record.BandUnknown {
					f.Report(k, "the bands are "+strings.Join(bands[:len(bands)-1], ", "), "gestation band %q is not known", k.Value)
					return
				}
				var x float64
				f.Float(&x, "share")(n)
				if x <= 0 || x > 1 {
					f.Report(k, "a share of the newborns of the band, such as 0.001", "share %v must lie above 0 and at most at 1", x)
				}
				e.Shares[b] = x
			})
		},
	})
	return e
}

func readCondition(f *yamlfile.File, n ast.Node) Condition {
	c := Condition{Fact: "", lo: 0, hi: 0, Is: nil, Above: nil, Below: nil, AtLeast: nil, AtMost: nil, BlankIsNo: false, Event: "", kind: 0, Codes: nil, codes: nil}
	var blank string
	limit := func(to **float64, what string) func(ast.Node) {
		return func(v ast.Node) {
			*to = new(float64)
			f.Float(*to, what)(v)
		}
	}
	f.Keys(n, "condition", nil, map[string]func(ast.Node){
		"fact":  f.Sentence(&c.Fact, "fact"),
		"is":    f.Sentences(&c.Is, "is"),
		"above": limit(&c.Above, "above"), "below": limit(&c.Below, "below"),
		"at_least": limit(&c.AtLeast, "at_least"), "at_most": limit(&c.AtMost, "at_most"),
		"blank": yamlfile.OneOf(f, &blank, "blank", "no", "unknown"),
		"event": f.Sentence(&c.Event, "event"),
		"codes": f.Sentences(&c.Codes, "codes"),
	})
	c.BlankIsNo = blank == "no"
	if err := c.resolve(); err != nil {
		f.Report(yamlfile.Start(n), "", "%s", err)
	}
	return c
}

// resolve looks the names up in the dictionary.
func (c *Condition) resolve() error {
	if (c.Fact == "") == (c.Event == "") {
		return errors.New("a condition names either a fact or an event")
	}
	limits := 0
	for _, l := range []*float64{c.Above, c.Below, c.AtLeast, c.AtMost} {
		if l != nil {
			limits++
		}
	}
	if c.Event != "" {
		if c.kind = record.KindOf(c.Event); c.kind == 0 {
			return fmt.Errorf("event %q is not in the dictionary", c.Event)
		}
		for _, w := range c.Codes {
			k := record.CodeOf(record.Events[c.kind].Codes, w)
			if k == 0 {
				return fmt.Errorf("code %q is not one of %s: %s", w, c.Event, strings.Join(record.Events[c.kind].Codes, ", "))
			}
			c.codes = append(c.codes, record.EventCode(k))
		}
		if limits > 0 || len(c.Is) > 0 {
			return errors.New("an event is on record or not: no limit and no word goes with it")
		}
		return nil
	}
	var ok bool
	if c.lo, c.hi, ok = factNamed(c.Fact); !ok {
		return fmt.Errorf("fact %q is not in the dictionary", c.Fact)
	}
	spec := record.FactSpecs[c.lo]
	number := spec.Type == record.IntegerType || spec.Type == record.DecimalType
	switch {
	case number && (limits == 0 || len(c.Is) > 0):
		return fmt.Errorf("fact %q is a number: give above, below, at_least or at_most", c.Fact)
	case number:
		return nil
	case limits > 0 || len(c.Is) == 0:
		return fmt.Errorf("fact %q is a word: give is", c.Fact)
	}
	codes := spec.Codes
	if spec.Type == record.YesNoType {
		codes = record.YesNo
	}
	for _, w := range c.Is {
		if record.CodeOf(codes, w) == 0 {
			return fmt.Errorf("%q is not one of the words of %s: %s", w, c.Fact, strings.Join(codes, ", "))
		}
	}
	return nil
}

// factNamed finds a fact by its name, or an interval by the name without its ends.
func factNamed(name string) (lo, hi record.Fact, ok bool) {
	for i := range record.NumFacts {
		switch record.FactSpecs[i].Name {
		case name:
			return i, i, true
		case name + "_lo":
			return i, i + 1, true
		}
	}
	return 0, 0, false
}

func (s *Settings) readPublished(f *yamlfile.File, n ast.Node) {
	p := PublishedRange{About: "", Text: "", Source: ""}
	f.Keys(n, "published range", []string{"about", "text"}, map[string]func(ast.Node){
		"about":  yamlfile.OneOf(f, &p.About, "about", Abouts...),
		"text":   f.Sentence(&p.Text, "text"),
		"source": f.Sentence(&p.Source, "source"),
	})
	s.Published = append(s.Published, p)
}

func (s *Settings) readBand(f *yamlfile.File, n ast.Node) {
	f.Keys(n, "saturation_band", []string{"name", "source", "minutes"}, map[string]func(ast.Node){
		"name":   f.Sentence(&s.Band.Name, "name"),
		"source": f.Sentence(&s.Band.Source, "source"),
		"minutes": func(v ast.Node) {
			f.Items(v, "minutes", func(v ast.Node) {
				var p BandPoint
				f.Keys(v, "minute", []string{"minute", "low", "high"}, map[string]func(ast.Node){
					"minute": f.Float(&p.Minute, "minute"), "low": f.Float(&p.Low, "low"), "high": f.Float(&p.High, "high"),
				})
				if k := len(s.Band.Points); p.Low > p.High || p.Low < 0 || p.High > 100 || k > 0 && p.Minute <= s.Band.Points[k-1].Minute {
					f.Report(yamlfile.Start(v), "", "minutes must ascend, and low must not lie above high")
				}
				s.Band.Points = append(s.Band.Points, p)
			})
		},
	})
}

func (s *Settings) readExpectations(f *yamlfile.File, n ast.Node) {
	e := &s.Expectations
	f.Keys(n, "expectations", []string{"on"}, map[string]func(ast.Node){
		"on":         f.Boolean(&e.On, "on"),
		"decided_by": f.Sentence(&e.DecidedBy, "decided_by"),
		"lines": func(v ast.Node) {
			f.Items(v, "lines", func(v ast.Node) {
				l := ExpectationLine{Words: "", Fact: "", Aim: "", Unit: "", Step: "", Await: false, fact: 0, upper: 0}
				f.Keys(v, "line", []string{"words", "fact", "aim"}, map[string]func(ast.Node){
					"words": f.Sentence(&l.Words, "words"), "fact": f.Sentence(&l.Fact, "fact"), "aim": f.Sentence(&l.Aim, "aim"),
					"unit": f.Sentence(&l.Unit, "unit"), "step": yamlfile.OneOf(f, &l.Step, "step", steps...),
					"await": f.Boolean(&l.Await, "await"),
				})
				var ok bool
				if l.fact, l.upper, ok = factNamed(l.Fact); !ok {
					f.Report(yamlfile.Start(v), "", "fact %q is not in the dictionary", l.Fact)
				}
				e.Lines = append(e.Lines, l)
			})
		},
	})
	if e.On && e.DecidedBy == "" {
		f.Report(yamlfile.Start(n), "name the role that decided", "expectation lines are on, and nobody is named who decided it")
	}
}

func oneOf(word string, words []string) string {
	if h := yamlfile.DidYouMean(word, words); h != "" {
		return h
	}
	return "one of " + strings.Join(words, ", ")
}
