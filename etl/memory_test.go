package etl_test

import (
	"bufio"
	"bytes"
	"context"
	"crypto/sha256"
	"fmt"
	"os"
	"path/filepath"
	"runtime"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"chestrise/etl"
	"chestrise/etl/derive"
	"chestrise/etl/record"
	"chestrise/etl/source"
)

// sink is a registry that keeps nothing.
type sink struct{}

func (sink) Generation(context.Context) (record.Generation, error)             { return 0, nil }
func (sink) Begin(context.Context, record.Delivery) (etl.Loading, error)       { return sink{}, nil }
func (sink) Refuse(context.Context, *record.Refusal) error                     { return nil }
func (sink) Hold(context.Context, record.HeldRow) error                        { return nil }
func (sink) SetAside(context.Context, record.Unusable) error                   { return nil }
func (sink) Births(context.Context, record.Births) error                       { return nil }
func (sink) Commit(context.Context, []record.Tally) (record.Generation, error) { return 1, nil }
func (sink) Fates(_ context.Context, in []record.Stamp) ([]record.Fate, error) {
	out := make([]record.Fate, len(in))
	for i := range out {
		out[i] = record.Loaded
	}
	return out, nil
}

func (sink) Put(context.Context, record.Fate, record.Stamp, *record.Document, *record.Facts) error {
	return nil
}

// writeLarge writes a delivery of n newborns in two units with seven events each.
func writeLarge(t testing.TB, folder string, n int) (bytesWritten int64) {
	d := newDrop().manifest
	columns := source.NewbornColumns(record.Inside)
	place := map[string]int{}
	for i, c := range columns {
		place[c] = i
	}
	write := func(name, header string, row func(w *bufio.Writer, unit string, i int)) {
		f, err := os.Create(filepath.Join(folder, name))
		require.NoError(t, err)
		sum := sha256.New()
		w := bufio.NewWriterSize(f, 1<<16)
		fmt.Fprintln(w, header)
		for i := range n {
			unit := "A"
			if i >= n/2 {
				unit = "B"
			}
			row(w, unit, i)
		}
		require.NoError(t, w.Flush())
		_, err = f.Seek(0, 0)
		require.NoError(t, err)
		size, err := bufio.NewReader(f).WriteTo(sum)
		require.NoError(t, err)
		bytesWritten += size
		require.NoError(t, f.Close())
		rows := int64(n)
		if name == source.EventsName {
			rows *= 7
		}
		d.Files = append(d.Files, record.File{Name: name, Rows: rows, SHA256: [32]byte(sum.Sum(nil))})
	}
	id := func(i int) string { return fmt.Sprintf("%08x-0000-4000-8000-%012x", i, i) }
	write(source.NewbornsName, strings.Join(columns, ","), func(w *bufio.Writer, unit string, i int) {
		cells := make([]string, len(columns))
		set := func(column, text string) { cells[place[column]] = text }
		set("unit", unit)
		set("key", id(i))
		set("record_status", "present")
		set("month", fmt.Sprintf("2026-%02d", 1+i%3))
		set("birth_sequence", strconv.Itoa(1+i%90000))
		set("gestation_wk", strconv.Itoa(24+i%18))
		set("birth_weight_g", strconv.Itoa(600+i%3000))
		set("signs_of_life", "yes")
		set("admitted", "yes")
		set("charted_steps", "yes")
		if i%50 == 0 {
			set("apgar_5", "12") // set aside
		}
		fmt.Fprintln(w, strings.Join(cells, ","))
	})
	write(source.EventsName, strings.Join(source.EventColumns(), ","), func(w *bufio.Writer, unit string, i int) {
		for _, e := range []string{
			"20,birth,live,1,breathing,none,,", "45,birth,live,1,support-begun,ppv,,1", "45,birth,live,1,interface,mask,,1", "70,birth,live,1,chest-movement,not-moving,,",
			"75,birth,live,1,corrective-step,mask-seal,,", "95,birth,live,1,heart-rate,ecg,110,", "200,birth,live,1,support-ended,ppv,,1",
		} {
			fmt.Fprintf(w, "%s,%s,%s\n", unit, id(i), e)
		}
	})
	var b bytes.Buffer
	require.NoError(t, source.WriteManifest(&b, d))
	require.NoError(t, os.WriteFile(filepath.Join(folder, source.ManifestName), b.Bytes(), 0o640))
	return bytesWritten
}

// TestMemoryDoesNotDependOnTheFile measures what is alive after a collection at
// every batch: sixteen times the rows must not need more.
func TestMemoryDoesNotDependOnTheFile(t *testing.T) {
	peak := func(n int) uint64 {
		folder := t.TempDir()
		writeLarge(t, folder, n)
		var most uint64
		o := etl.Options{Inbox: folder, Registry: sink{}, Batch: 500, Derive: func(*record.Document) record.Facts { return record.Facts{} }}
		o.Progress = func(etl.Progress) {
			runtime.GC()
			var m runtime.MemStats
			runtime.ReadMemStats(&m)
			most = max(most, m.HeapAlloc)
		}
		s, err := etl.Run(context.Background(), o)
		require.NoError(t, err)
		require.EqualValues(t, 8*n, s.Rows().Read)
		require.EqualValues(t, n/50, s.Rows().SetAside["out-of-range"])
		return most
	}
	small, large := peak(1000), peak(16000)
	require.Less(t, large, small+1<<20, "heap in use with 1,000 newborns: %d bytes, with 16,000: %d", small, large)
}

// BenchmarkRun reads, checks, transforms, derives and stamps, with a registry
// that keeps nothing: what the etl itself costs. bytes are those of the files,
// each of which is read twice.
func BenchmarkRun(b *testing.B) {
	const newborns = 20000
	folder := b.TempDir()
	b.SetBytes(writeLarge(b, folder, newborns))
	b.ReportAllocs()
	for b.Loop() {
		s, err := etl.Run(context.Background(), etl.Options{Inbox: folder, Registry: sink{}, Derive: derive.Facts})
		require.NoError(b, err)
		require.EqualValues(b, 8*newborns, s.Rows().Read)
	}
	b.ReportMetric(float64(newborns)*float64(b.N)/b.Elapsed().Seconds(), "newborns/s")
}
