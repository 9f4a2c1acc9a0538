package source

import (
	"bytes"
	"crypto/sha256"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"chestrise/etl/record"
)

func TestManifestReadsBackAsWritten(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		from := record.MonthOf(rapid.IntRange(1900, 2100).Draw(rt, "year"), rapid.IntRange(1, 12).Draw(rt, "month"))
		d := record.Delivery{
			Source: rapid.StringMatching(`[a-z][a-z0-9.-]{0,20}`).Draw(rt, "source"),
			Units:  rapid.SliceOfNDistinct(rapid.StringMatching(`[A-Z0-9]{1,5}`), 1, 4, rapid.ID).Draw(rt, "units"),
			From:   from, To: from + record.Month(rapid.IntRange(0, 48).Draw(rt, "months")),
			Coverage: record.Coverage(rapid.IntRange(1, 3).Draw(rt, "coverage")), Mode: record.Mode(rapid.IntRange(1, 2).Draw(rt, "mode")),
			Sequence: rapid.Int64Min(1).Draw(rt, "sequence"), ExtractedAt: time.Unix(rapid.Int64Range(0, 4e9).Draw(rt, "extracted"), 0).UTC(),
			Privacy: record.Privacy(rapid.IntRange(1, 3).Draw(rt, "privacy")), Agreement: "agreement 12", Synthetic: rapid.Bool().Draw(rt, "synthetic"),
			Files: []record.File{{Name: NewbornsName, Rows: rapid.Int64Min(0).Draw(rt, "rows"), SHA256: sha256.Sum256([]byte("x"))}, {Name: EventsName}},
		}
		d.Recording = []record.Recording{{Unit: d.Units[0], From: d.From, How: record.ByDevice, TimeUnit: 5, Form: "second", TempSite: "rectum"}, {Unit: d.Units[0], From: d.To}}
		if d.Privacy == record.YearOnly {
			d.From, d.To = record.MonthOf(d.From.Year(), 1), record.MonthOf(d.To.Year(), 12)
			for i := range d.Recording {
				d.Recording[i].From = record.MonthOf(d.Recording[i].From.Year(), 1)
			}
		}
		var b bytes.Buffer
		require.NoError(t, WriteManifest(&b, d))
		got, problems := ParseManifest(b.Bytes())
		require.Empty(t, problems)
		d.Manifest = sha256.Sum256(b.Bytes())
		require.Equal(t, d, got)
	})
}

// Nothing makes the reader of manifests panic, and what it accepts without a
// problem is complete and reads back the same.
func FuzzManifest(f *testing.F) {
	f.Add([]byte(`{}`))
	f.Add([]byte(`[]`))
	f.Add([]byte(`{"source":1,"unit":[null],"period":{"first":"2026-13"},"files":[{}],"recording":[7]}`))
	f.Add([]byte(`{"source":"a","unit":["A"],"period":{"first":"2026-01","last":"2026-02"},"coverage":"every-birth","mode":"changes","sequence":1,"extracted_at":"2026-03-01T00:00:00Z","privacy_mode":"inside","files":[{"name":"newborns.csv","rows":0,"sha256":"e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855"}]}`))
	f.Fuzz(func(t *testing.T, raw []byte) {
		d, problems := ParseManifest(raw)
		for _, p := range problems {
			require.NotEmpty(t, p.Rule)
			require.NotEmpty(t, p.Message)
		}
		if problems != nil {
			return
		}
		require.NotEmpty(t, d.Source)
		require.NotEmpty(t, d.Units)
		require.NotEmpty(t, d.Files)
		require.Positive(t, d.Sequence)
		require.LessOrEqual(t, d.From, d.To)
		var b bytes.Buffer
		require.NoError(t, WriteManifest(&b, d))
		again, problems := ParseManifest(b.Bytes())
		require.Empty(t, problems)
		d.Manifest, again.Manifest = [32]byte{}, [32]byte{}
		d.ExtractedAt, again.ExtractedAt = d.ExtractedAt.Truncate(time.Second).UTC(), again.ExtractedAt.UTC()
		require.Equal(t, d, again)
	})
}
