package metrics_test

import (
	"context"
	"io/fs"
	"log/slog"
	"math/rand/v2"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"chestrise/etl"
	"chestrise/etl/derive"
	"chestrise/etl/record"
	"chestrise/etl/source"
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
func load(t testing.TB, r *registry.Registry, inbox string) etl.Summary {
	t.Helper()
	maps, problems := source.ReadMaps("../configs/sources")
	require.Empty(t, problems)
	s, err := etl.Run(t.Context(), etl.Options{
		Inbox: inbox, Registry: door{r}, Derive: derive.Facts, Maps: maps, Keys: t.TempDir(), Random: rand.NewChaCha8([32]byte{1}), Now: time.Time{},
		Batch: 0, Log: slog.New(slog.DiscardHandler), Progress: nil,
	})
	require.NoError(t, err)
	require.Equal(t, len(s.Deliveries), s.Count(etl.Loaded), "%+v", s.Deliveries)
	return s
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
	// A fact that is blank makes less known, and never another definite answer.
	said := map[string]string{}
	for _, b := range got.Blanks {
		said[b.Measure+" "+b.Fact] = b.String()
		for _, turn := range b.Becomes {
			require.False(t, turn.Trap, b.String())
		}
	}
	require.Equal(t, "any-corrective-step: any_step blank: met becomes unknown; not met becomes unknown", said["any-corrective-step any_step"])
	for _, d := range c.Measures {
		for _, f := range d.Facts() {
			require.Contains(t, said, d.ID+" "+f, "no worked example gives this fact")
		}
	}
}

// The eight newborns: for each of the six measures what must come out of the whole
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
