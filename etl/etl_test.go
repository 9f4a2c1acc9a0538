package etl_test

import (
	"context"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"chestrise/etl"
	"chestrise/etl/record"
)

func TestDeliveryBecomesDocuments(t *testing.T) {
	m := newMemory(t)
	d := newDrop().
		newborn(key(1), "gestation_wk", "39", "gestation_d", "2", "birth_weight_g", "3410", "major_anomaly", "airway+heart", "signs_of_life", "yes").
		newborn(key(2), "gestation_wk", "", "admission_temp_cel", "36.5").
		event(key(1), "15", "breathing", "none").
		event(key(1), "48", "support-begun", "ppv", "group", "1").
		event(key(1), "48", "device", "t-piece", "group", "1").
		event(key(1), "80", "heart-rate", "ecg", "value", "70").
		event(key(1), "", "stimulated", "drying").
		birthsRow("39", "12").birthsRow("", "1")
	out := d.run(t, m)
	require.Equal(t, etl.Loaded, out.State, out.Problems)
	require.EqualValues(t, 1, out.Generation)
	require.EqualValues(t, 2, out.Tallies[0].ByFate[record.Loaded])
	require.EqualValues(t, 5, out.Tallies[1].ByFate[record.Loaded])
	require.EqualValues(t, 2, out.Tallies[2].ByFate[record.Loaded])

	doc := m.documents[keyOf(t, key(1))].document
	require.Equal(t, "A", doc.Unit)
	require.Equal(t, "2026-02", doc.Month.String())
	require.Equal(t, 39.0, doc.Newborn[record.GestationWk].Number)
	require.Equal(t, uint16(1<<(record.MajorAnomalyAirway-1)|1<<(record.MajorAnomalyHeart-1)), doc.Newborn[record.MajorAnomaly].Set)
	require.Equal(t, record.Yes, doc.Newborn[record.SignsOfLife].Code)
	require.Equal(t, record.Blank, doc.Newborn[record.Apgar5].State, "a blank is not a zero")
	require.Len(t, doc.Events, 5)
	require.Equal(t, record.Event{At: 80, Timed: true, Clock: record.ClockBirth, How: record.Live, Unit: 1, Kind: record.HeartRate, Code: record.HRECG, Value: 70, Valued: true}, doc.Events[3])
	require.False(t, doc.Events[4].Timed)
	require.EqualValues(t, 5, m.documents[keyOf(t, key(1))].facts[record.FactStepCount].Number)
	require.Equal(t, record.NotApplicable, m.documents[keyOf(t, key(2))].document.Newborn[record.GestationD].State)
}

func TestSameDeliveryAgainChangesNothing(t *testing.T) {
	m := newMemory(t)
	d := newDrop().newborn(key(1), "apgar_1", "7").event(key(1), "10", "breathing", "crying").birthsRow("39", "12")
	require.Equal(t, etl.Loaded, d.run(t, m).State)
	require.Equal(t, etl.AlreadyLoaded, d.run(t, m).State)
	require.EqualValues(t, 1, m.generation)

	d.manifest.Sequence = 2 // the same content once more
	out := d.run(t, m)
	require.Equal(t, etl.Loaded, out.State)
	require.EqualValues(t, 1, out.Generation, "nothing changed, no generation")
	require.EqualValues(t, 1, out.Tallies[0].ByFate[record.Unchanged])
	require.EqualValues(t, 1, out.Tallies[1].ByFate[record.Unchanged])

	d.manifest.Sequence = 3
	d.event(key(1), "20", "breathing", "crying")
	out = d.run(t, m)
	require.EqualValues(t, 2, out.Generation)
	require.EqualValues(t, 2, out.Tallies[1].ByFate[record.Revised], "a revision is of the whole newborn")

	d.manifest.Sequence = 4
	d.newborns[0] = map[string]string{"unit": "A", "key": key(1), "record_status": "withdrawn", "month": "2026-02", "apgar_1": "not a number, not read"}
	out = d.run(t, m)
	require.EqualValues(t, 1, out.Tallies[0].ByFate[record.Withdrawn])
	require.EqualValues(t, 2, out.Tallies[1].ByFate[record.Withdrawn])
	require.Empty(t, out.Tallies[0].SetAside)
	require.Empty(t, m.documents[keyOf(t, key(1))].document.Events)
}

func TestSequenceReusedIsRefused(t *testing.T) {
	m := newMemory(t)
	d := newDrop().newborn(key(1))
	require.Equal(t, etl.Loaded, d.run(t, m).State)
	out := d.newborn(key(2)).run(t, m)
	require.Equal(t, etl.Refused, out.State)
	require.Equal(t, []string{"sequence-reused"}, rules(out.Problems))
	require.Len(t, m.documents, 1)
	require.Len(t, m.refusals, 1)
}

func TestDeliveriesComeInOrderOfSequence(t *testing.T) {
	m := newMemory(t)
	inbox := t.TempDir()
	for folder, sequence := range map[string]int64{"a": 3, "b": 1, "c": 2} {
		d := newDrop().newborn(key(1), "apgar_1", string(rune('0'+sequence)))
		d.manifest.Sequence = sequence
		d.write(t, filepath.Join(inbox, "night", folder))
	}
	require.NoError(t, os.MkdirAll(filepath.Join(inbox, "d"), 0o750))
	require.NoError(t, os.WriteFile(filepath.Join(inbox, "d", "newborns.csv"), []byte("x\n"), 0o640))
	require.NoError(t, os.MkdirAll(filepath.Join(inbox, "e.part"), 0o750))
	require.NoError(t, os.WriteFile(filepath.Join(inbox, "e.part", "newborns.csv"), []byte("x\n"), 0o640))
	require.NoError(t, os.WriteFile(filepath.Join(inbox, "loose.csv"), []byte("x\n"), 0o640))
	s, err := etl.Run(context.Background(), options(inbox, m))
	require.NoError(t, err)
	var folders []string
	for _, d := range s.Deliveries {
		folders = append(folders, d.Folder)
	}
	require.Equal(t, []string{"night/b", "night/c", "night/a", "d"}, folders)
	require.Equal(t, []string{"loose.csv"}, s.Stray)
	require.Equal(t, 3, s.Count(etl.Loaded))
	require.Equal(t, []string{"manifest-missing"}, rules(s.Deliveries[3].Problems))
	require.EqualValues(t, 0, s.Before)
	require.EqualValues(t, 3, s.After)
	require.Equal(t, 3.0, m.documents[keyOf(t, key(1))].document.Newborn[record.Apgar1].Number)
	require.EqualValues(t, 3, s.Rows().Read)
}

func TestFailureSaysWhatWasDone(t *testing.T) {
	m := newMemory(t)
	m.failAt = 2
	inbox := t.TempDir()
	for i := range 3 {
		d := newDrop().newborn(key(i))
		d.manifest.Sequence = int64(i + 1)
		d.write(t, filepath.Join(inbox, string(rune('a'+i))))
	}
	s, err := etl.Run(context.Background(), options(inbox, m))
	require.ErrorContains(t, err, "connection lost")
	require.ErrorContains(t, err, "1 of 3 deliveries were loaded, 1 not reached")
	require.Equal(t, []etl.State{etl.Loaded, etl.Failed, etl.NotReached}, []etl.State{s.Deliveries[0].State, s.Deliveries[1].State, s.Deliveries[2].State})
	require.EqualValues(t, 1, s.After)
	require.Len(t, m.documents, 1)
}

func TestInterruptionLeavesNothing(t *testing.T) {
	m := newMemory(t)
	ctx, cancel := context.WithCancel(context.Background())
	folder := t.TempDir()
	newDrop().newborn(key(1)).write(t, folder)
	o := options(folder, m)
	o.Derive = func(*record.Document) record.Facts { cancel(); return record.Facts{} }
	o.Batch = 1
	newDrop().newborn(key(1)).newborn(key(2)).newborn(key(3)).write(t, folder)
	s, err := etl.Run(ctx, o)
	require.ErrorIs(t, err, context.Canceled)
	require.Equal(t, etl.Failed, s.Deliveries[0].State)
	require.Empty(t, m.documents)
	require.Empty(t, m.refusals, "an interruption is no refusal")
}
