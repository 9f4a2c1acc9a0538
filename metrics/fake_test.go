package metrics

import (
	"cmp"
	"context"
	"iter"
	"log/slog"
	"os"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"chestrise/etl/record"
	"chestrise/metrics/cell"
	"chestrise/metrics/measure"
)

// memory is a registry in memory: rows to project, cells, baselines and a ledger.
type memory struct {
	rows       []cell.Row
	cells      []cell.Cell
	baselines  []cell.Baseline
	deliveries []record.Delivery
	births     []record.Births
	held       map[string]int64
	generation record.Generation
	fails      *cell.Uncomputable
	defined    map[string]string
}

func (m *memory) Check(context.Context, cell.Projection) ([]cell.Fault, error) { return nil, nil }

func (m *memory) Examples(context.Context, cell.Projection, []map[string]string) ([]cell.Row, error) {
	return nil, nil
}

func (m *memory) Judge(context.Context, cell.Projection, record.Key) (cell.Row, [][]cell.Judgement, error) {
	return cell.Row{}, nil, record.ErrNoSuchKey
}

func (m *memory) Project(_ context.Context, _ cell.Projection, s cell.Scope, row func(*cell.Row) error) error {
	for i := range m.rows {
		if r := &m.rows[i]; slices.Contains(s.UnitMonths, cell.UnitMonth{Unit: r.Unit, Month: r.Month}) {
			if err := row(r); err != nil {
				return err
			}
		}
	}
	if m.fails != nil {
		return m.fails
	}
	return nil
}

func (m *memory) Stale(_ context.Context, basis map[string]cell.Basis) ([]cell.UnitMonth, error) {
	var out []cell.UnitMonth
	for _, r := range m.rows {
		um := cell.UnitMonth{Unit: r.Unit, Month: r.Month}
		fresh := 0
		for _, c := range m.cells {
			if c.Unit == um.Unit && c.Month == um.Month && c.Basis == basis[c.Measure] && c.Band == 0 && c.Generation == m.generation {
				fresh++
			}
		}
		if fresh < len(basis) && !slices.Contains(out, um) {
			out = append(out, um)
		}
	}
	return out, nil
}

func (m *memory) Replace(_ context.Context, scope []cell.UnitMonth, cells iter.Seq[cell.Cell]) error {
	m.cells = slices.DeleteFunc(m.cells, func(c cell.Cell) bool {
		return slices.Contains(scope, cell.UnitMonth{Unit: c.Unit, Month: c.Month})
	})
	m.cells = append(m.cells, slices.Collect(cells)...)
	return nil
}

func (m *memory) Cells(_ context.Context, units []string, id string) ([]cell.Cell, error) {
	var out []cell.Cell
	for _, c := range m.cells {
		if c.Measure == id && (units == nil || slices.Contains(units, c.Unit)) {
			out = append(out, c)
		}
	}
	slices.SortFunc(out, func(a, b cell.Cell) int {
		return cmp.Or(cmp.Compare(a.Unit, b.Unit), cmp.Compare(a.Month, b.Month), cmp.Compare(a.Band, b.Band))
	})
	return out, nil
}

func (m *memory) Baselines(_ context.Context, unit string) ([]cell.Baseline, error) {
	var out []cell.Baseline
	for _, b := range m.baselines {
		if b.Unit == unit {
			out = append(out, b)
		}
	}
	return out, nil
}

func (m *memory) Freeze(_ context.Context, b cell.Baseline) error {
	for _, x := range m.baselines {
		if x.Unit == b.Unit && x.Measure == b.Measure && x.Phase == b.Phase && x.Basis == b.Basis {
			return cell.ErrFrozen
		}
	}
	m.baselines = append(m.baselines, b)
	return nil
}

func (m *memory) Define(_ context.Context, id, hash, version, text string) error {
	if m.defined == nil {
		m.defined = map[string]string{}
	}
	m.defined[id+" "+hash] = version + " " + text[:min(20, len(text))]
	return nil
}

func (m *memory) Generation(context.Context) (record.Generation, error) { return m.generation, nil }

func (m *memory) Deliveries(context.Context) ([]record.Delivery, error) { return m.deliveries, nil }

func (m *memory) Births(context.Context, []string) ([]record.Births, error) { return m.births, nil }

func (m *memory) Held(context.Context, string, record.Month) (map[string]int64, error) {
	return m.held, nil
}

func (m *memory) SetAside(context.Context, string, record.Month) (map[string]int64, error) {
	return map[string]int64{"range": 2, "code": 0}, nil
}

// begin is the first month of the tests' data.
var begin = record.MonthOf(2022, 1)

// complete is a delivery of everything up to a month, extracted in the middle of
// the month after.
func complete(to record.Month) record.Delivery {
	return record.Delivery{
		Source: "birth-register", Units: []string{"u"}, From: begin, To: to, Coverage: record.EveryBirth, Mode: record.Complete, Sequence: int64(to),
		ExtractedAt: time.Date((to + 1).Year(), time.Month((to + 1).Number()), 15, 0, 0, 0, 0, time.UTC),
	}
}

// few are the measures of these tests, in the order in which rows give their codes.
var few = []string{
	"ventilation-begun-by-60-seconds", "seconds-to-effective-ventilation", "any-corrective-step", "intubated-at-birth",
	"admission-temperature-in-range", "births-between-compressions", "seconds-to-first-ventilation",
}

// engine has a catalogue of a few measures and a registry in memory with months
// 0..n-1 closed.
func engine(t testing.TB, n int) (*Engine, *memory) {
	t.Helper()
	all, err := measure.Load(os.DirFS(".."), "", "configs/measures")
	require.NoError(t, err)
	var c measure.Catalogue
	for _, id := range few {
		d, err := all.Named(id)
		require.NoError(t, err)
		c.Measures = append(c.Measures, d)
	}
	m := &memory{generation: 7, deliveries: []record.Delivery{complete(begin + record.Month(n) - 1)}}
	return &Engine{
		Catalogue: c, Facts: m, Store: m, Ledger: m, Settings: Settings{GraceDays: DefaultGrace}, Derivation: 1,
		Names: map[string]string{"u": "Unit U"}, Log: slog.New(slog.DiscardHandler),
	}, m
}

// put adds a cell of a measure in month i of the data, in the band of 37 weeks or
// more.
func put(e *Engine, m *memory, id string, i int, change func(*cell.Cell)) {
	d, _ := e.Catalogue.Get(id)
	c := cell.Cell{
		Unit: "u", Month: begin + record.Month(i), Measure: id, Band: record.Band37, Excluded: make([]int32, len(d.Exclusions)),
		Exceptions: make([]int32, len(d.Exceptions)), Basis: e.basis(d), Generation: m.generation,
	}
	change(&c)
	m.cells = append(m.cells, c)
}

// share adds met of known newborns in month i.
func share(e *Engine, m *memory, id string, i, met, known int) {
	put(e, m, id, i, func(c *cell.Cell) {
		c.Outside, c.Met, c.NotMet = 100, int32(met), int32(known-met)
	})
}

func unit(t testing.TB, e *Engine, i int, issued ...Figure) UnitView {
	t.Helper()
	v, err := e.Unit(t.Context(), "u", begin+record.Month(i), issued)
	require.NoError(t, err)
	return v
}

func page(t testing.TB, v UnitView, id string) MeasureView {
	t.Helper()
	for _, m := range v.Measures {
		if m.Definition.ID == id {
			return m
		}
	}
	require.Fail(t, "no page", id)
	return MeasureView{}
}

func freeze(t testing.TB, e *Engine) []cell.Baseline {
	t.Helper()
	b, err := e.Freeze(t.Context(), []string{"u"})
	require.NoError(t, err)
	return b
}
