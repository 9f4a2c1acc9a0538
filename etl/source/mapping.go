package source

import (
	"bytes"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/goccy/go-yaml"
	"github.com/goccy/go-yaml/ast"
	"github.com/goccy/go-yaml/parser"

	"chestrise/etl/record"
	"chestrise/etl/rule"
)

// Map says how a source's own file becomes newborn rows of the contract. Every
// column of the file is either taken or listed as not taken with a reason; a
// column in neither list refuses the file. Units are stated, never guessed.
type Map struct {
	Source    string     `yaml:"source"`    // the source of the manifests it serves
	Title     string     `yaml:"title"`     // what the file is, for people
	File      string     `yaml:"file"`      // its name in the delivery
	Blank     []string   `yaml:"blank"`     // cells that mean "not recorded", besides the empty one
	Key       MapKey     `yaml:"key"`       // where the newborn's key comes from
	Constants []Constant `yaml:"constants"` // columns of the contract that are the same in every row
	Columns   []Column   `yaml:"columns"`   // columns that are taken
	NotTaken  []NotTaken `yaml:"not_taken"` // columns that are never read
}

// MapKey names the column that tells newborns apart.
type MapKey struct {
	Column string `yaml:"column"`
	// Drawn: the column holds the source's own number; a random key is drawn for
	// each, once, and kept in a key file. Otherwise it is a random key already.
	Drawn bool `yaml:"drawn"`
}

// Constant fills a column of the contract that the file does not have.
type Constant struct {
	Field  string `yaml:"field"`
	Value  string `yaml:"value"`
	Reason string `yaml:"reason"`
}

// Column takes a column of the file into a column of the contract.
type Column struct {
	Column string `yaml:"column"`
	Field  string `yaml:"field"`
	// Unit is the UCUM code of the file's numbers; needed wherever the contract's
	// column has a unit.
	Unit string `yaml:"unit"`
	// Codes translates the file's codes; a code that is not listed is handed on
	// as it is, and set aside if the contract does not know it.
	Codes map[string]string `yaml:"codes"`
	// Days: decimal weeks become completed weeks in gestation_wk and days in
	// gestation_d, both rounded down.
	Days bool `yaml:"days"`
}

// NotTaken names a column that stays where it is.
type NotTaken struct {
	Column string `yaml:"column"`
	Reason string `yaml:"reason"`
}

// ReadMaps reads all maps of a folder, by source. A folder that does not exist
// has none.
func ReadMaps(folder string) (map[string]*Map, []record.Problem) {
	paths, err := filepath.Glob(filepath.Join(folder, "*.yaml"))
	if err != nil {
		return nil, []record.Problem{{Rule: rule.MapInvalid, Message: plain(err)}}
	}
	maps := map[string]*Map{}
	var problems []record.Problem
	for _, path := range paths {
		raw, err := os.ReadFile(path)
		if err != nil {
			problems = append(problems, record.Problem{Rule: rule.MapInvalid, File: path, Message: plain(err)})
			continue
		}
		m, found := ParseMap(path, raw)
		problems = append(problems, found...)
		if found != nil {
			continue
		}
		if maps[m.Source] != nil {
			problems = append(problems, record.Problem{Rule: rule.MapInvalid, File: path, Message: "source " + m.Source + " has a map already"})
		}
		maps[m.Source] = m
	}
	return maps, problems
}

// ParseMap reads a map from its YAML text. name stands in the problems.
func ParseMap(name string, raw []byte) (*Map, []record.Problem) {
	m := new(Map)
	dec := yaml.NewDecoder(bytes.NewReader(raw), yaml.Strict())
	if err := dec.Decode(m); err != nil {
		return nil, []record.Problem{{Rule: rule.MapInvalid, File: name, Message: yaml.FormatError(err, false, false)}}
	}
	file, err := parser.ParseBytes(raw, 0)
	if err != nil || len(file.Docs) != 1 {
		return nil, []record.Problem{{Rule: rule.MapInvalid, File: name, Message: "the file holds more than one document"}}
	}
	c := &mapCheck{name: name, file: file, m: m, fields: NewbornColumns(record.Inside)}
	c.check()
	return m, c.problems
}

// mapCheck gathers what is wrong with a map, with the places in its text.
type mapCheck struct {
	name     string
	file     *ast.File
	m        *Map
	fields   []string
	filled   map[string]bool // columns of the contract
	problems []record.Problem
}

func (c *mapCheck) report(path, message string, args ...any) {
	p := record.Problem{Rule: rule.MapInvalid, File: c.name, Message: fmt.Sprintf(message, args...)}
	for ; path != "$"; path = path[:strings.LastIndexAny(path, ".[")] { // the nearest that is written
		at, err := yaml.PathString(path)
		if err != nil {
			continue
		}
		if n, err := at.FilterFile(c.file); err == nil && n != nil && n.GetToken() != nil {
			p.Line, p.Column = n.GetToken().Position.Line, n.GetToken().Position.Column
			break
		}
	}
	c.problems = append(c.problems, p)
}

func (c *mapCheck) check() {
	c.filled = map[string]bool{}
	if !codeShape.MatchString(c.m.Source) {
		c.report("$.source", "source is not a code of 1 to 32 letters, digits, dots, hyphens and underscores")
	}
	if c.m.File == "" || c.m.File != filepath.Base(c.m.File) {
		c.report("$.file", "file is not the plain name of a file")
	}
	columns := map[string]bool{c.m.Key.Column: true}
	if c.m.Key.Column == "" {
		c.report("$.key", "key names no column")
	}
	c.filled["key"] = true
	declare := func(path, column string) {
		if column == "" {
			c.report(path, "the entry names no column")
		}
		if columns[column] {
			c.report(path, "column %q is declared twice", column)
		}
		columns[column] = true
	}
	for i, k := range c.m.Constants {
		at := fmt.Sprintf("$.constants[%d]", i)
		c.fill(at+".field", k.Field)
		if k.Reason == "" {
			c.report(at, "constant %q gives no reason", k.Field)
		}
	}
	for i, k := range c.m.Columns {
		at := fmt.Sprintf("$.columns[%d]", i)
		declare(at+".column", k.Column)
		c.fill(at+".field", k.Field)
		c.column(at, &k)
	}
	for i, k := range c.m.NotTaken {
		at := fmt.Sprintf("$.not_taken[%d]", i)
		declare(at+".column", k.Column)
		if k.Reason == "" {
			c.report(at, "column %q is not taken without a reason", k.Column)
		}
	}
	for _, needed := range []string{"unit", "month"} {
		if !c.filled[needed] {
			c.report("$.columns", "nothing fills %q: name a column or a constant", needed)
		}
	}
}

func (c *mapCheck) fill(path, field string) {
	switch {
	case !slices.Contains(c.fields, field):
		c.report(path, "field %q is not in the contract", field)
	case c.filled[field]:
		c.report(path, "field %q is filled twice", field)
	}
	c.filled[field] = true
}

// column checks units and codes against the dictionary.
func (c *mapCheck) column(at string, k *Column) {
	if k.Days {
		if k.Field != record.Fields[record.GestationWk].Name || k.Unit != "wk" {
			c.report(at+".days", "days is for gestation_wk in decimal weeks (unit: wk)")
		}
		c.fill(at+".days", record.Fields[record.GestationD].Name)
		return
	}
	spec := specOf(k.Field)
	if spec == nil {
		return
	}
	switch _, err := conversion(k.Unit, spec.Unit); {
	case spec.Unit == "" && k.Unit != "":
		c.report(at+".unit", "field %q has no unit", k.Field)
	case spec.Unit != "" && k.Unit == "":
		c.report(at+".column", "column %q states no unit; the contract's is %s", k.Column, spec.Unit)
	case err != nil:
		c.report(at+".unit", "%v", err)
	}
	words := spec.Codes
	if spec.Type == record.YesNoType || spec.Type == record.MarkType {
		words = record.YesNo
	}
	for _, to := range k.Codes {
		if words != nil && to != "" && !slices.Contains(words, to) {
			c.report(at+".codes", "code %q is not in the list of %s: %s", to, k.Field, strings.Join(words, ", "))
		}
	}
}

func specOf(field string) *record.Spec {
	for i := range record.Fields {
		if record.Fields[i].Name == field {
			return &record.Fields[i]
		}
	}
	return nil
}

// linear is y = (x + before) * factor.
type linear struct{ before, factor float64 }

// conversions between UCUM units, by definition.
var conversions = map[[2]string]linear{
	{"kg", "g"}:            {0, 1000},
	{"h", "min"}:           {0, 60},
	{"s", "min"}:           {0, 1.0 / 60},
	{"d", "min"}:           {0, 1440},
	{"min", "s"}:           {0, 60},
	{"[degF]", "Cel"}:      {-32, 5.0 / 9},
	{"{score}", "{score}"}: {0, 1},
}

func conversion(from, to string) (linear, error) {
	if from == to || from == "" || to == "" {
		return linear{0, 1}, nil
	}
	if l, ok := conversions[[2]string{from, to}]; ok {
		return l, nil
	}
	return linear{}, errors.New("unit " + from + " cannot become " + to)
}
