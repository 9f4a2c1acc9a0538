package source

import (
	"bytes"
	"cmp"
	"context"
	"io"
	"math"
	"os"
	"slices"
	"strconv"

	"chestrise/etl/record"
)

// mapped reads a file through a map. Its rows are sorted after they have been
// mapped, because their keys are not the file's; they are kept in memory, a few
// hundred bytes each.
type mapped struct {
	m        *Map
	file     string
	contract []string
	columns  []string // columns of the file that are read, the key's first
	targets  [][]target
	constant [][]byte // by column of the contract; nil: none
	column   []int    // by column of the contract: its place in the file, 0: none
	keys     *KeyFile
	random   io.Reader
	kept     []keptRow
}

// target is where a column of the file goes.
type target struct {
	field  int // column of the contract
	source *Column
	spec   *record.Spec
	scale  linear
}

type keptRow struct {
	row   Row
	unit  string
	key   record.Key
	keyed bool
	cells []keptCell
}

type keptCell struct {
	field int
	text  string
}

// OpenMapped opens a delivery whose file a map translates. keys is the folder
// of the key files and random draws new keys; the error is about those.
func OpenMapped(folder string, manifest record.Delivery, m *Map, keys string, random io.Reader) (*Delivery, []record.Problem, error) {
	d := &Delivery{Manifest: manifest, folder: folder, files: map[string]*os.File{}}
	if problems := d.open([]string{m.File}, []string{BirthsName}); problems != nil {
		_ = d.Close()
		return nil, problems, nil
	}
	x := &mapped{m: m, file: m.File, contract: NewbornColumns(manifest.Privacy), random: random}
	x.compile(manifest.Privacy)
	if m.Key.Drawn {
		var err error
		if x.keys, err = OpenKeyFile(keys, m.Source); err != nil {
			_ = d.Close()
			return nil, nil, err
		}
	}
	d.mapped = x
	return d, nil, nil
}

func (x *mapped) compile(mode record.Privacy) {
	place := func(field string) int {
		if field == "month" {
			field = monthColumn(mode)
		}
		return slices.Index(x.contract, field)
	}
	x.constant = make([][]byte, len(x.contract))
	x.column = make([]int, len(x.contract))
	x.constant[NewbornStatus] = []byte(Present)
	for _, c := range x.m.Constants {
		x.constant[place(c.Field)] = []byte(c.Value)
	}
	x.columns = []string{x.m.Key.Column}
	x.targets = [][]target{nil}
	for i := range x.m.Columns {
		c := &x.m.Columns[i]
		t := target{field: place(c.Field), source: c, spec: specOf(c.Field)}
		if t.spec != nil && !c.Days {
			t.scale, _ = conversion(c.Unit, t.spec.Unit) // checked with the map
		}
		x.columns = append(x.columns, c.Column)
		x.targets = append(x.targets, []target{t})
	}
}

// survey maps and sorts all rows and draws the keys that are missing.
func (x *mapped) survey(ctx context.Context, d *Delivery, s *Survey) ([]record.Problem, error) {
	x.kept = x.kept[:0]
	ignored := make([]string, 0, len(x.m.NotTaken))
	for _, c := range x.m.NotTaken {
		ignored = append(ignored, c.Column)
	}
	var failed error
	problems, err := d.scan(ctx, x.file, x.columns, ignored, func(r *Row, _ int64) *record.Problem {
		if failed == nil {
			failed = x.keep(r)
		}
		return nil
	}, func(t *table) {
		for i := range x.columns {
			for _, to := range x.targets[i] {
				x.column[to.field] = t.Column(i)
			}
		}
		x.column[NewbornKey] = t.Column(0)
	})
	if err = cmp.Or(err, failed); err != nil {
		return nil, err
	}
	if _, ok := d.files[BirthsName]; ok {
		found, err := d.scan(ctx, BirthsName, BirthsColumns(d.Manifest.Privacy), nil, func(*Row, int64) *record.Problem { return nil }, nil)
		if err != nil {
			return nil, err
		}
		problems = append(problems, found...)
	}
	if problems != nil {
		return problems, nil
	}
	slices.SortStableFunc(x.kept, func(a, b keptRow) int {
		return cmp.Or(cmp.Compare(a.unit, b.unit), bytes.Compare(a.key[:], b.key[:]))
	})
	x.across(d, s)
	if x.keys != nil {
		return nil, x.keys.Save()
	}
	return nil, nil
}

// across finds what can only be seen across rows.
func (x *mapped) across(d *Delivery, s *Survey) {
	units := map[record.Key]string{}
	n := &newbornSurvey{survey: s, units: d.Manifest.Units, mode: d.Manifest.Privacy}
	rows := x.rows()
	for i := range x.kept {
		k := &x.kept[i]
		if unit, ok := units[k.key]; ok && k.keyed && unit != k.unit {
			s.repeatedKeys[k.key] = true
		}
		units[k.key] = k.unit
		row, _ := rows.Next()
		_ = n.visit(row, 0) // sorted here: no order to break
	}
}

// keep maps a row of the file.
func (x *mapped) keep(r *Row) error {
	k := keptRow{row: Row{Line: r.Line, Fault: r.Fault}}
	if r.Fault == "" {
		number := r.Cells[0]
		switch {
		case x.isBlank(number):
		case x.keys == nil:
			k.key, k.keyed = ParseKey(number)
		default:
			key, err := x.keys.Key(string(number), x.random)
			if err != nil {
				return err
			}
			k.key, k.keyed = key, true
		}
		k.unit = string(x.constant[NewbornUnit])
		for i, cell := range r.Cells {
			if x.isBlank(cell) {
				continue
			}
			for _, t := range x.targets[i] {
				k.cells = t.put(k.cells, cell)
			}
		}
		for _, c := range k.cells {
			if c.field == NewbornUnit {
				k.unit = c.text
			}
		}
	}
	x.kept = append(x.kept, k)
	return nil
}

func (x *mapped) isBlank(cell []byte) bool {
	return len(cell) == 0 || slices.Contains(x.m.Blank, string(cell))
}

// put translates a cell. What it cannot translate it hands on as it is, for the
// rules of the contract to judge.
func (t *target) put(cells []keptCell, cell []byte) []keptCell {
	text := string(cell)
	if to, ok := t.source.Codes[text]; ok {
		text = to
	}
	if t.spec != nil && (t.spec.Type == record.IntegerType || t.spec.Type == record.DecimalType) {
		if v, err := strconv.ParseFloat(text, 64); err == nil && plainNumber(text) {
			if t.source.Days {
				return append(cells, weeksAndDays(v)...)
			}
			// Seven digits would look like an identifier, which they are not if a
			// conversion made them; six nines are out of every range as well.
			const largest = 999999
			if x := (v + t.scale.before) * t.scale.factor; t.scale != (linear{0, 1}) {
				text = shortest(min(max(x, -largest), largest))
			} else if short := shortest(x); len(short) <= len(text) {
				text = short // 2974.0 is a whole number
			}
		}
	}
	return append(cells, keptCell{t.field, text})
}

// weeksAndDays cuts decimal weeks into completed weeks and days, both rounded
// down. A hundred-thousandth of a week is forgiven: decimal weeks are often
// sevenths that were cut, or single-precision numbers.
func weeksAndDays(weeks float64) []keptCell {
	const forgiven = 1e-5
	days := math.Floor((weeks + forgiven) * 7)
	return []keptCell{
		{NewbornFields + int(record.GestationWk), strconv.FormatFloat(math.Floor(days/7), 'f', -1, 64)},
		{NewbornFields + int(record.GestationD), strconv.FormatFloat(math.Mod(days, 7), 'f', -1, 64)},
	}
}

// shortest prints a converted number without the noise of the conversion.
func shortest(v float64) string {
	const digits = 1e6
	return strconv.FormatFloat(math.Round(v*digits)/digits, 'f', -1, 64)
}

func plainNumber(text string) bool {
	for _, c := range text {
		if (c < '0' || c > '9') && c != '.' && c != '-' {
			return false
		}
	}
	return true
}

func (x *mapped) rows() *mappedRows {
	return &mappedRows{x: x, out: make([][]byte, len(x.contract))}
}

type mappedRows struct {
	x   *mapped
	at  int
	row Row
	out [][]byte
}

// Next implements Rows.
func (r *mappedRows) Next() (*Row, error) {
	if r.at == len(r.x.kept) {
		return nil, io.EOF
	}
	k := &r.x.kept[r.at]
	r.at++
	r.row = k.row
	if k.row.Fault != "" {
		return &r.row, nil
	}
	copy(r.out, r.x.constant)
	r.out[NewbornKey] = nil
	if k.keyed {
		r.out[NewbornKey] = []byte(k.key.String())
	}
	for _, c := range k.cells {
		r.out[c.field] = []byte(c.text)
	}
	r.row.Cells = r.out
	return &r.row, nil
}

// Column implements Rows.
func (r *mappedRows) Column(i int) int { return r.x.column[i] }
