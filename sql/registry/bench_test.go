package registry

import (
	"encoding/binary"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"chestrise/etl/record"
	"chestrise/metrics/cell"
)

// benchRows is the size of a delivery in the benchmarks.
const benchRows = 100_000

// crowd makes ordinary documents: three quarters with a few events, spread over
// ten units and twelve months.
func crowd() ([]record.Stamp, []*record.Document, []*record.Facts) {
	const n = benchRows
	rng := rand.New(rand.NewPCG(3, 4))
	stamps := make([]record.Stamp, n)
	docs, facts := make([]*record.Document, n), make([]*record.Facts, n)
	for i := range n {
		var key record.Key
		binary.BigEndian.PutUint64(key[:], rng.Uint64())
		binary.BigEndian.PutUint64(key[8:], rng.Uint64())
		d := &record.Document{Key: key, Unit: string(rune('a' + i%10)), Month: march + record.Month(rng.IntN(12))}
		for f := range record.Fields {
			if rng.IntN(3) > 0 && record.Fields[f].Type != record.SetType {
				if v := anyValue(rng, &record.Fields[f]); v.State == record.Recorded {
					d.Newborn[f] = v
				}
			}
		}
		for e := range rng.IntN(16) {
			d.Events = append(d.Events, record.Event{
				At: int32(10 * e), Timed: true, Clock: record.ClockBirth, How: record.Live, Unit: 1,
				Kind: record.HeartRate, Code: record.HRECG, Value: 60 + float64(e), Valued: true,
			})
		}
		f := &record.Facts{}
		for x := range f {
			if field, ok := record.Passed[record.Fact(x)]; ok {
				f[x] = d.Newborn[field]
			}
		}
		f[record.FactInPopulation], f[record.FactVentilated] = code(record.Yes), code(uint8(1+rng.IntN(3)))
		f[record.FactNeed] = code(uint8(1 + rng.IntN(3)))
		lo := float64(rng.IntN(200))
		f[record.FactFirstInflationLo], f[record.FactFirstInflationHi] = number64(lo), number64(lo+10)
		stamps[i] = record.Stamp{Key: key, Digest: [16]byte(key)}
		docs[i], facts[i] = d, f
	}
	return stamps, docs, facts
}

func loadCrowd(b testing.TB, r *Registry, sequence int64, stamps []record.Stamp, docs []*record.Document, facts []*record.Facts) {
	l, err := r.Begin(b.Context(), delivery(sequence))
	require.NoError(b, err)
	var all []record.Fate
	for at := 0; at < len(stamps); at += batch {
		end := min(at+batch, len(stamps))
		fates, err := l.Fates(b.Context(), stamps[at:end])
		require.NoError(b, err)
		for i, f := range fates {
			if f == record.Loaded {
				require.NoError(b, l.Put(b.Context(), f, stamps[at+i], docs[at+i], facts[at+i]))
			}
		}
		all = append(all, fates...)
	}
	_, err = l.Commit(b.Context(), tally(all))
	require.NoError(b, err)
}

// BenchmarkLoad loads 100,000 new documents into an empty registry.
func BenchmarkLoad(b *testing.B) {
	stamps, docs, facts := crowd()
	r := fresh(b)
	n := int64(0)
	for b.Loop() {
		b.StopTimer()
		wipe(b, r)
		n++
		b.StartTimer()
		loadCrowd(b, r, n, stamps, docs, facts)
	}
	b.ReportMetric(float64(benchRows)*float64(n)/b.Elapsed().Seconds(), "documents/s")
}

// BenchmarkLoadUnchanged loads the same 100,000 documents again.
func BenchmarkLoadUnchanged(b *testing.B) {
	stamps, docs, facts := crowd()
	r := fresh(b)
	loadCrowd(b, r, 1, stamps, docs, facts)
	n := int64(1)
	for b.Loop() {
		n++
		loadCrowd(b, r, n, stamps, docs, facts)
	}
	b.ReportMetric(float64(benchRows)*float64(n-1)/b.Elapsed().Seconds(), "documents/s")
}

// BenchmarkRawCopy is what loading is measured against: the same rows, encoded
// beforehand, copied into a bare table, as psql's \copy does.
func BenchmarkRawCopy(b *testing.B) {
	stamps, docs, _ := crowd()
	r := fresh(b)
	rows := line{fresh: true}
	for i := range docs {
		require.NoError(b, rows.document(1, 1, 1, &stamps[i], docs[i]))
	}
	kept := append([]byte(nil), rows.buf...)
	n := 0
	for b.Loop() {
		n++
		tx, u, err := r.begin(b.Context())
		require.NoError(b, err)
		_, err = tx.Exec("create temporary table arrival (like registry.document including defaults) on commit drop; alter table arrival drop column gen_from, drop column gen_to")
		require.NoError(b, err)
		rows.buf, rows.rows = append(rows.buf[:0], kept...), benchRows
		require.NoError(b, u.copy(b.Context(), copyDocuments, &rows))
		require.NoError(b, tx.Commit())
	}
	b.SetBytes(int64(len(kept)))
	b.ReportMetric(float64(benchRows)*float64(n)/b.Elapsed().Seconds(), "documents/s")
}

// BenchmarkProject runs 36 measures over 100,000 newborns.
func BenchmarkProject(b *testing.B) {
	stamps, docs, facts := crowd()
	r := fresh(b)
	loadCrowd(b, r, 1, stamps, docs, facts)
	var p cell.Projection
	p.Parameters = []cell.Parameter{{Name: "limit", Default: 60}}
	for i := range 36 {
		if i%6 == 5 {
			p.Measures = append(p.Measures, timed())
			continue
		}
		p.Measures = append(p.Measures, cell.Projected{
			Measure: "m", Population: condition("in_population = 'yes' and need in ('yes', 'presumed')"), Exclusions: []cell.Condition{condition("anomaly_hernia = 'yes'"), condition("comfort_only = 'yes'")},
			Met: condition("first_inflation_hi <= :limit"), Missed: condition("first_inflation_lo > :limit or ventilated in ('no', 'later')"), Presumed: condition("need = 'presumed'"),
			Exceptions: []cell.Condition{condition("exception_reason = 'decision-awaited' or decision_awaited_s > :limit")},
		})
	}
	n := 0
	for b.Loop() {
		n++
		rows := 0
		require.NoError(b, r.Project(b.Context(), p, cell.Scope{}, func(*cell.Row) error {
			rows++
			return nil
		}))
		require.Equal(b, benchRows, rows)
	}
	b.ReportMetric(float64(benchRows)*float64(n)/b.Elapsed().Seconds(), "newborns/s")
}
