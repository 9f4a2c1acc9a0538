package metrics_test

import (
	"cmp"
	"context"
	"io/fs"
	"log/slog"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"chestrise/etl"
	"chestrise/etl/derive"
	"chestrise/etl/record"
	"chestrise/etl/source"
	"chestrise/etl/synth"
	"chestrise/metrics"
	"chestrise/metrics/cell"
	"chestrise/metrics/measure"
	"chestrise/sql/localpg/pgtest"
	"chestrise/sql/migrations"
	"chestrise/sql/registry"
)

func TestMain(m *testing.M) { os.Exit(pgtest.Main(m)) }

func clock() time.Time { return time.Date(2026, 4, 2, 2, 0, 0, 0, time.UTC) }

// fresh is an empty registry with the run lock held.
func fresh(t testing.TB) *registry.Registry {
	t.Helper()
	o := registry.Options{Now: clock, Derivation: derive.Version, Program: "test", RolePrefix: "cr_test_"}
	dsn := pgtest.FromTemplate(t, "metrics "+schema(t), func(dsn string) error {
		r, err := registry.Open(context.Background(), dsn, o)
		if err != nil {
			return err
		}
		if _, err := r.Migrate(context.Background()); err != nil {
			_ = r.Close()
			return err
		}
		return r.Close()
	})
	r, err := registry.Open(t.Context(), dsn, o)
	require.NoError(t, err)
	t.Cleanup(func() { _ = r.Close() })
	_, err = r.Lock(t.Context())
	require.NoError(t, err)
	return r
}

func schema(t testing.TB) string {
	t.Helper()
	text := ""
	require.NoError(t, fs.WalkDir(migrations.FS, ".", func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		b, err := fs.ReadFile(migrations.FS, path)
		text += string(b)
		return err
	}))
	return text
}

// load takes a folder of deliveries into the registry.
func load(t testing.TB, r *registry.Registry, inbox string) {
	t.Helper()
	maps, problems := source.ReadMaps("../configs/sources")
	require.Empty(t, problems)
	s, err := etl.Run(t.Context(), etl.Options{
		Inbox: inbox, Registry: door{r}, Derive: derive.Facts, Maps: maps, Keys: t.TempDir(), Random: rand.NewChaCha8([32]byte{1}), Now: time.Time{},
		Batch: 0, Log: slog.New(slog.DiscardHandler), Progress: nil,
	})
	require.NoError(t, err)
	require.Equal(t, len(s.Deliveries), s.Count(etl.Loaded), "%+v", s.Deliveries)
}

// door lets the etl load into the registry, which knows nothing of the etl.
type door struct{ *registry.Registry }

func (d door) Begin(ctx context.Context, m record.Delivery) (etl.Loading, error) {
	return d.Registry.Begin(ctx, m)
}

func catalogue(t testing.TB) measure.Catalogue {
	t.Helper()
	c, err := measure.Load(os.DirFS(".."), "", "configs/measures", "testdata/measures")
	require.NoError(t, err)
	return c
}

// Every condition is accepted by the database, and every worked example comes out
// as its file says.
func TestCatalogueAgainstTheRegistry(t *testing.T) {
	c := catalogue(t)
	got, err := c.Check(t.Context(), fresh(t))
	require.NoError(t, err)
	require.Empty(t, got.Problems, "%s", got.Problems.Error())
	n := 0
	for _, d := range c.Measures {
		n += len(d.Examples)
	}
	require.Equal(t, n, got.Examples)
	// A fact that is blank makes less known, and never another definite answer. One
	// measure says otherwise in its words: symptoms of an air leak that are not
	// recorded count as symptoms.
	const decides = "births-between-air-leaks air_leak_symptomatic"
	said := map[string]string{}
	for _, b := range got.Blanks {
		said[b.Measure+" "+b.Fact] = b.String()
		for _, turn := range b.Becomes {
			require.Equal(t, b.Measure+" "+b.Fact == decides, turn.Trap, b.String())
		}
	}
	require.Equal(t, "any-corrective-step: any_step blank: met becomes unknown; not met becomes unknown", said["any-corrective-step any_step"])
	for _, d := range c.Measures {
		for _, f := range d.Facts() {
			require.Contains(t, said, d.ID+" "+f, "no worked example gives this fact")
		}
	}
}

// The eight newborns: for each of these measures what must come out of the whole
// way from the delivery's files through the facts and the production statement.
// The reasons stand beside the measures' worked examples.
func TestEightNewborns(t *testing.T) {
	r := fresh(t)
	load(t, r, filepath.Join("..", "testdata", "deliveries", "eight"))
	c := catalogue(t)
	p := c.Projection(nil)
	type answer struct {
		code      cell.Code
		low, high float64
		end       string
	}
	plain := func(s string) []answer {
		var out []answer
		for _, c := range []byte(s) {
			out = append(out, answer{code: cell.Code(c)})
		}
		return out
	}
	v := func(low, high float64, end string) answer {
		return answer{code: cell.Valued, low: low, high: high, end: end}
	}
	out := answer{code: cell.Outside}
	// In the order of their births: A to H.
	want := map[string][]answer{
		"ventilation-begun-by-60-seconds": plain(".110??.N"),
		"seconds-to-effective-ventilation": {
			out, v(57, 57, "heart-rate-100"), v(35, 35, "heart-rate-100"), v(84, 84, "airway-attempt"), v(30, 30, "heart-rate-100"),
			v(0.25, 119.75, "compressions"), out, v(500, 500, "stopped"),
		},
		"any-corrective-step":            plain(".101uu.0"),
		"intubated-at-birth":             plain("00010000"),
		"admission-temperature-in-range": plain(".0001A.."),
		"births-between-compressions":    plain("00000100"),

		"heart-rate-known-by-60-seconds":         plain(".011??.0"),
		"ventilation-effective-by-120-seconds":   plain(".110??.N"),
		"corrective-step-when-needed":            plain(".1.1.?.."),
		"cord-clamping-60-seconds":               plain("1N1N1u10"),
		"cord-clamping-60-seconds-every-newborn": plain("10101u10"),
		"admission-temperature": {
			out, v(37.7, 37.7, ""), v(36.4, 36.4, ""), v(35.9, 35.9, ""), v(36.5, 36.5, ""), {code: cell.FirstExclusion}, out, out,
		},
		"seconds-to-first-ventilation": {
			out, v(48, 48, ""), v(40, 40, ""), v(66, 66, ""), {code: cell.EligibilityUnknown}, {code: cell.EligibilityUnknown}, out, {code: cell.FirstException},
		},

		"heart-rate-rechecked-after-ventilation":            plain(".1111~.1"),
		"heart-rate-above-100-by-90-seconds-of-ventilation": plain(".11010.0"),
		"corrective-steps-per-ventilated-newborn": {
			out, v(1, 1, ""), v(0, 0, ""), v(3, 3, ""), {code: cell.Unknown}, {code: cell.Unknown}, out, v(0, 0, ""),
		},
		"t-piece-or-flow-device-when-available": plain(".1111A.1"),
		"starting-oxygen-in-range":              plain(".1111u11"),
		"starting-oxygen-below-range":           plain(".0000u00"),
		"starting-oxygen-above-range":           plain(".0000u00"),
		"oximeter-on-by-120-seconds":            plain(".111uu10"),
		"saturation-80-by-five-minutes":         plain("..1u...0"),
		"saturation-above-95-on-oxygen":         plain("..10??.0"),
		"ecg-with-ventilation":                  plain(".111.?.0"),

		"first-attempt-tube-success":        plain("...0...."),
		"three-or-more-tube-attempts":       plain("...0...."),
		"tube-attempt-over-30-seconds":      plain("...1...."),
		"severe-desaturation-at-intubation": plain("...1...."),
		"basic-steps-before-tube":           plain("...0.?.."),
		"supraglottic-before-repeat-tube":   plain(".....?.."),
		"cpap-first-very-preterm":           plain("..10...."),
		"cpap-at-36-weeks-or-more":          plain("00..1.1."),
		"births-between-air-leaks":          plain("00..1.0."),
		"admission-below-36":                plain(".0010A.."),
		"admission-above-37-5":              plain(".1000A.."),
		"briefing-recorded":                 plain("????????"),
		"debriefing-recorded":               plain(".uuuuu.u"),
		"facial-skin-injury-from-mask":      plain("..uuu..u"),
	}
	got := map[string][]answer{}
	err := r.Project(t.Context(), p, cell.Scope{}, func(row *cell.Row) error {
		for i, m := range p.Measures {
			a := answer{code: row.Codes[i]}
			if a.code == cell.Valued {
				a.low, a.high, a.end = row.Low[i], row.High[i], row.End[i]
			}
			got[m.Measure] = append(got[m.Measure], a)
		}
		return nil
	})
	require.NoError(t, err)
	for id, w := range want {
		require.Equal(t, w, got[id], id)
	}
	for _, d := range c.Measures {
		if strings.HasPrefix(filepath.ToSlash(d.File), "configs/measures/") {
			require.Contains(t, want, d.ID, "no word on the eight newborns")
		}
	}
}

// 500 births of a London hospital, the data set "births" of the R package Epi: 63
// born before 37 weeks with 10 gestations unknown, 60 under 2,500 g (its own
// columns preterm and lowbw).
func TestFiveHundredBirths(t *testing.T) {
	r := fresh(t)
	load(t, r, filepath.Join("..", "testdata", "deliveries", "epi-births"))
	c := catalogue(t)
	p := c.Projection(nil)
	counts := map[string]map[cell.Code]int{}
	err := r.Project(t.Context(), p, cell.Scope{}, func(row *cell.Row) error {
		for i, m := range p.Measures {
			if counts[m.Measure] == nil {
				counts[m.Measure] = map[cell.Code]int{}
			}
			counts[m.Measure][row.Codes[i]]++
		}
		return nil
	})
	require.NoError(t, err)
	require.Equal(t, map[cell.Code]int{cell.Met: 63, cell.NotMet: 427, cell.Unknown: 10}, counts["born-before-37-weeks"])
	require.Equal(t, map[cell.Code]int{cell.Met: 60, cell.NotMet: 440}, counts["born-under-2500-g"])
}

func newEngine(t testing.TB, r *registry.Registry) *metrics.Engine {
	t.Helper()
	return &metrics.Engine{
		Catalogue: catalogue(t), Facts: r, Store: r, Ledger: r, Settings: metrics.Settings{GraceDays: metrics.DefaultGrace}, Derivation: derive.Version,
		Names: map[string]string{"worked": "Worked examples"}, Log: slog.New(slog.DiscardHandler),
	}
}

// The eight newborns as the page of a unit shows them, and why one of them came out
// as it did.
func TestEightNewbornsOnAPage(t *testing.T) {
	r := fresh(t)
	load(t, r, filepath.Join("..", "testdata", "deliveries", "eight"))
	e := newEngine(t, r)
	out, err := e.Compute(t.Context())
	require.NoError(t, err)
	require.EqualValues(t, 8, out.Newborns)
	again, err := e.Compute(t.Context())
	require.NoError(t, err)
	require.Empty(t, again.UnitMonths, "an idle night computes nothing")

	v, err := e.Unit(t.Context(), "worked", 0, nil)
	require.NoError(t, err)
	require.Equal(t, "2026-03", v.Month.String())
	require.Equal(t, record.EveryBirth, v.Coverage)
	require.True(t, v.Synthetic)
	// Extracted on 2 April: within the days of grace, so that March is still open.
	require.True(t, v.EarlyLook)
	e.Settings.GraceDays = 1
	v, err = e.Unit(t.Context(), "worked", 0, nil)
	require.NoError(t, err)
	require.False(t, v.EarlyLook)
	got := map[string]string{}
	for _, m := range v.Measures {
		got[m.Definition.ID] = m.Latest.Text + ", " + m.Latest.KnownText
	}
	require.Len(t, got, len(e.Catalogue.Measures), "every measure has a line")
	for id, want := range map[string]string{
		"ventilation-begun-by-60-seconds":  "2026 Q1: 2 of 3 (67 %), 3 of 3 known",
		"seconds-to-effective-ventilation": "2026 Q1: 3 of 6 (50 %), 6 of 6 known",
		"any-corrective-step":              "2026 Q1: 2 of 4 (50 %), 4 of 6 known",
		"intubated-at-birth":               "2026 Q1: 1 of 8 (12 %), 8 of 8 known",
		"admission-temperature-in-range":   "2026 Q1: 1 of 4 (25 %), 4 of 4 known",
		"births-between-compressions":      "Mar 2026: 2 births since the last event, 1 event in 8 births of the last 1 month",
		"born-before-37-weeks":             "2026 Q1: 4 of 7 (57 %), 7 of 8 known",
		"born-under-2500-g":                "2026 Q1: 4 of 8 (50 %), 8 of 8 known",
		"seconds-to-first-ventilation":     "2026 Q1: 48 s, 3 of 3 known",
	} {
		require.Equal(t, want, got[id], id)
	}

	// H: comfort care was planned, parents asked for help, decision at 90 s.
	key := keyOf(t, r, 8)
	why, err := e.Why(t.Context(), key, "ventilation-begun-by-60-seconds")
	require.NoError(t, err)
	require.Len(t, why, 1)
	require.Equal(t, "exception 1 (a decision was awaited)", why[0].Answer)
	require.Equal(t, "Missed is true. Exception 1 is true.", why[0].Because)
	text := why[0].String()
	for _, s := range []string{"> exception 1: true", "decision_awaited_s 90", "  population: true", "first_inflation_lo 100", "A decision was awaited."} {
		require.Contains(t, text, s)
	}
	// F: the need cannot be told.
	why, err = e.Why(t.Context(), keyOf(t, r, 6), "")
	require.NoError(t, err)
	require.Len(t, why, len(e.Catalogue.Measures))
	require.Equal(t, "eligibility unknown", why[0].Answer)
	require.Equal(t, "Population is not recorded.", why[0].Because)
	require.Contains(t, why[0].String(), "need not recorded")

	_, err = e.Why(t.Context(), record.Key{1}, "")
	require.ErrorIs(t, err, record.ErrNoSuchKey)
	_, err = e.Why(t.Context(), key, "intubated")
	require.ErrorContains(t, err, `measure "intubated" is not in the catalogue`)
}

// keyOf is the key of the newborn with a birth sequence.
func keyOf(t testing.TB, r *registry.Registry, sequence int32) record.Key {
	t.Helper()
	var key record.Key
	c := catalogue(t)
	require.NoError(t, r.Project(t.Context(), c.Measures[0].Only().Projection(nil), cell.Scope{}, func(row *cell.Row) error {
		if row.Order == sequence {
			key = row.Key
		}
		return nil
	}))
	require.NotZero(t, key)
	return key
}

// Two nights of an invented network: what the second night touches is recomputed and
// nothing else, a full recompute gives the same cells, and stored baselines stay.
func TestNightsRecomputeWhatTheyTouch(t *testing.T) {
	s, err := synth.Load("../testdata/scenarios/small.yaml")
	require.NoError(t, err)
	dir := t.TempDir()
	_, err = synth.NewGenerator(s, s.Seed).Write(dir)
	require.NoError(t, err)
	require.Len(t, s.Drops, 2)
	r := fresh(t)
	e := newEngine(t, r)
	e.Settings.Windows = []metrics.Window{{From: record.MonthOf(2026, 1), To: record.MonthOf(2026, 6), Reason: "test"}}
	units := []string{"hazel", "rowan"}

	load(t, r, filepath.Join(dir, s.Drops[0].Folder))
	first, err := e.Compute(t.Context())
	require.NoError(t, err)
	frozen, err := e.Freeze(t.Context(), units)
	require.NoError(t, err)
	require.NotEmpty(t, frozen)

	load(t, r, filepath.Join(dir, s.Drops[1].Folder))
	second, err := e.Compute(t.Context())
	require.NoError(t, err)
	touched, err := r.Touched(t.Context(), first.Generation)
	require.NoError(t, err)
	require.NotEmpty(t, touched)
	require.Equal(t, touched, second.UnitMonths, "only what the night touched")
	later, err := e.Freeze(t.Context(), units)
	require.NoError(t, err)
	require.Empty(t, later)

	incremental := allCells(t, e, r)
	var scope []cell.UnitMonth
	for _, c := range incremental {
		scope = append(scope, cell.UnitMonth{Unit: c.Unit, Month: c.Month})
	}
	slices.SortFunc(scope, func(a, b cell.UnitMonth) int {
		return cmp.Or(cmp.Compare(a.Unit, b.Unit), cmp.Compare(a.Month, b.Month))
	})
	scope = slices.Compact(scope)
	_, err = e.ComputeFor(t.Context(), scope)
	require.NoError(t, err)
	require.Equal(t, incremental, allCells(t, e, r))

	for _, u := range units {
		before, err := e.Unit(t.Context(), u, record.MonthOf(2026, 8), nil)
		require.NoError(t, err)
		var issued []metrics.Figure
		for _, m := range before.Measures {
			issued = append(issued, m.Figures...)
		}
		require.NotEmpty(t, issued)
		after, err := e.Unit(t.Context(), u, record.MonthOf(2026, 8), issued)
		require.NoError(t, err)
		for _, m := range after.Measures {
			require.Empty(t, m.Restated)
		}
	}

	// A changed definition makes every month stale.
	d := e.Catalogue.Measures[0]
	d.Hash = "changed"
	e.Catalogue.Measures[0] = d
	third, err := e.Compute(t.Context())
	require.NoError(t, err)
	require.Equal(t, scope, third.UnitMonths)
}

// allCells lists every cell, without the generation it carries.
func allCells(t testing.TB, e *metrics.Engine, r *registry.Registry) []cell.Cell {
	t.Helper()
	var out []cell.Cell
	for _, d := range e.Catalogue.Measures {
		cells, err := r.Cells(t.Context(), nil, d.ID)
		require.NoError(t, err)
		for _, c := range cells {
			c.Generation = 0
			out = append(out, c)
		}
	}
	return out
}
