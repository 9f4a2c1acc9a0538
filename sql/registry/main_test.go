package registry

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"flag"
	"fmt"
	"io/fs"
	"os"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"chestrise/etl/record"
	"chestrise/sql/localpg/pgtest"
	"chestrise/sql/migrations"
)

// checks is how many cases a property is tried on where the command line does
// not say: each takes several transactions.
const checks = "40"

func TestMain(m *testing.M) {
	flag.Parse()
	said := false
	flag.Visit(func(f *flag.Flag) { said = said || f.Name == "rapid.checks" })
	if !said {
		if err := flag.Set("rapid.checks", checks); err != nil {
			panic(err)
		}
	}
	os.Exit(pgtest.Main(m))
}

func clock() time.Time { return time.Date(2026, 4, 1, 2, 0, 0, 0, time.UTC) }

func options() Options {
	return Options{Now: clock, Derivation: 1, Program: "test", RolePrefix: "cr_test_"}
}

// schemaDigest changes with any migration, so that a template is made anew.
func schemaDigest() string {
	h := sha256.New()
	_ = fs.WalkDir(migrations.FS, ".", func(path string, d fs.DirEntry, err error) error {
		if err == nil && !d.IsDir() {
			b, _ := fs.ReadFile(migrations.FS, path)
			h.Write(b)
		}
		return err
	})
	roles, _ := migrations.Roles("cr_test_")
	h.Write([]byte(roles))
	return hex.EncodeToString(h.Sum(nil)[:8])
}

// freshDSN is a database with the schema and nothing in it.
func freshDSN(t testing.TB) string {
	t.Helper()
	return pgtest.FromTemplate(t, "registry "+schemaDigest(), func(dsn string) error {
		r, err := Open(context.Background(), dsn, options())
		if err != nil {
			return err
		}
		if _, err := r.Migrate(context.Background()); err != nil {
			_ = r.Close()
			return err
		}
		return r.Close()
	})
}

func openDSN(t testing.TB, dsn string) *Registry {
	t.Helper()
	r, err := Open(t.Context(), dsn, options())
	require.NoError(t, err)
	t.Cleanup(func() { _ = r.Close() })
	return r
}

// fresh is an empty registry with the run lock held.
func fresh(t testing.TB) *Registry {
	t.Helper()
	r := openDSN(t, freshDSN(t))
	lock(t, r)
	return r
}

func lock(t testing.TB, r *Registry) *Run {
	t.Helper()
	u, err := r.Lock(t.Context())
	require.NoError(t, err)
	return u
}

// exec runs a statement outside all protocols.
func exec(t testing.TB, r *Registry, sql string) {
	t.Helper()
	_, err := r.db.ExecContext(t.Context(), sql)
	require.NoError(t, err)
}

// get reads one value.
func get[T any](t testing.TB, r *Registry, sql string, args ...any) T {
	t.Helper()
	var v T
	require.NoError(t, r.db.GetContext(t.Context(), &v, sql, args...))
	return v
}

// newborn is a document as tests write it down: what differs from an ordinary
// one.
type newborn struct {
	key       byte
	unit      string
	month     record.Month
	weight    float64 // 0: not recorded
	withdrawn bool
	facts     map[record.Fact]record.Value
}

var march = record.MonthOf(2026, 3)

func keyOf(n byte) record.Key {
	k := record.Key{15: n}
	k[6], k[8] = 0x40, 0x80
	return k
}

func (n newborn) document() (record.Stamp, *record.Document, *record.Facts) {
	d := &record.Document{Key: keyOf(n.key), Unit: n.unit, Month: n.month, Withdrawn: n.withdrawn}
	if d.Unit == "" {
		d.Unit = "north"
	}
	if d.Month == 0 {
		d.Month = march
	}
	var f record.Facts
	if n.weight != 0 {
		d.Newborn[record.BirthWeightG] = number64(n.weight)
		f[record.FactBirthWeightG] = number64(n.weight)
	}
	for fact, v := range n.facts {
		f[fact] = v
	}
	sum := sha256.Sum256([]byte(fmt.Sprint(n.unit, n.month, n.weight, n.withdrawn, n.facts)))
	s := record.Stamp{Key: d.Key, Withdrawn: n.withdrawn, Digest: [16]byte(sum[:16])}
	if n.withdrawn {
		return s, d, nil
	}
	return s, d, &f
}

func number64(f float64) record.Value { return record.Value{State: record.Recorded, Number: f} }
func code(c uint8) record.Value       { return record.Value{State: record.Recorded, Code: c} }

func delivery(sequence int64, more ...string) record.Delivery {
	d := record.Delivery{
		Source: "labour-ward", Units: []string{"north"}, From: march, To: march, Coverage: record.EveryBirth,
		Mode: record.Changes, Sequence: sequence, ExtractedAt: clock(), Privacy: record.Inside,
	}
	d.Manifest = sha256.Sum256([]byte(fmt.Sprint(sequence, more)))
	return d
}

// load takes a delivery through the whole protocol and returns the generation
// and the fates.
func load(t testing.TB, r *Registry, d record.Delivery, in ...newborn) (record.Generation, []record.Fate) {
	t.Helper()
	l, err := r.Begin(t.Context(), d)
	require.NoError(t, err)
	fates := offer(t, l, in...)
	g, err := l.Commit(t.Context(), tally(fates))
	require.NoError(t, err)
	return g, fates
}

func offer(t testing.TB, l *Loading, in ...newborn) []record.Fate {
	t.Helper()
	var stamps []record.Stamp
	for _, n := range in {
		s, _, _ := n.document()
		stamps = append(stamps, s)
	}
	fates, err := l.Fates(t.Context(), stamps)
	require.NoError(t, err)
	require.Len(t, fates, len(in))
	for i, n := range in {
		if f := fates[i]; f == record.Loaded || f == record.Revised || f == record.Withdrawn {
			s, d, f := n.document()
			require.NoError(t, l.Put(t.Context(), fates[i], s, d, f))
		}
	}
	return fates
}

func tally(fates []record.Fate) []record.Tally {
	t := record.Tally{File: newbornsFile}
	for _, f := range fates {
		t.ByFate[f]++
		t.Read++
	}
	return []record.Tally{t}
}
