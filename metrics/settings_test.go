package metrics

import (
	"os"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/require"

	"chestrise/etl/record"
)

func settings(t *testing.T, files map[string]string) (Settings, error) {
	t.Helper()
	f := fstest.MapFS{}
	for n, s := range files {
		f["c/"+n] = &fstest.MapFile{Data: []byte(s)}
	}
	return LoadSettings(f, "etc", "c")
}

func TestSettings(t *testing.T) {
	s, err := settings(t, map[string]string{
		"baselines.yaml": `
windows:
  - {unit: u, measure: intubated-at-birth, from: 2022-01, to: 2023-12, period: quarter, reason: before the new theatre}
`,
		"phases.yaml": `
phases:
  - unit: u
    from: 2024-03
    reason: training, kept up since
    decided_by: quality lead
    signal: eight in a row up to October 2024
`,
		"interventions.yaml": `
interventions:
  - {from: 2023-05, label: New monitors, measures: [intubated-at-birth]}
`,
		"calendar.yaml": `
grace_days: 9
retired:
  - {source: old-theatre, last: 2022-06}
`,
	})
	require.NoError(t, err)
	require.Equal(t, Settings{
		Windows:       []Window{{Unit: "u", Measure: "intubated-at-birth", From: record.MonthOf(2022, 1), To: record.MonthOf(2023, 12), Period: Quarterly, Reason: "before the new theatre"}},
		Phases:        []PhaseStart{{Unit: "u", From: record.MonthOf(2024, 3), Reason: "training, kept up since", DecidedBy: "quality lead", Signal: "eight in a row up to October 2024"}},
		Interventions: []Label{{From: record.MonthOf(2023, 5), Label: "New monitors", Measures: []string{"intubated-at-birth"}}},
		GraceDays:     9,
		Retired:       map[string]record.Month{"old-theatre": record.MonthOf(2022, 6)},
	}, s)
	require.Equal(t, []string{
		`baselines: unit "u" is not known`,
		`baselines: measure "intubated-at-birth" is not in the catalogue`,
		`phases: unit "u" is not known`,
		`interventions: measure "intubated-at-birth" is not in the catalogue`,
	}, s.Check([]string{"v"}, []string{"born-early"}))
	require.Empty(t, s.Check([]string{"u"}, []string{"intubated-at-birth"}))
}

func TestNoSettings(t *testing.T) {
	s, err := settings(t, nil)
	require.NoError(t, err)
	require.Equal(t, Settings{GraceDays: DefaultGrace}, s)
}

func TestBadSettings(t *testing.T) {
	_, err := settings(t, map[string]string{
		"baselines.yaml":     "windows:\n  - {from: 2023-12, to: 2022-01, reason: x}\n  - {from: 2022-1, to: 2022-12, period: week}\n",
		"phases.yaml":        "phases:\n  - {unit: u, from: 2024-03, reason: x}\n",
		"interventions.yaml": "interventions:\n  - {from: 2023-05, label: A label that is longer than an axis can hold}\n  - {from: 2023-05, labl: x}\n",
		"calendar.yaml":      "grace_days: 100\n",
	})
	require.EqualError(t, err, `etc/c/baselines.yaml:2:5: window ends before it begins
etc/c/baselines.yaml:3:5: window lacks the key "reason"
etc/c/baselines.yaml:3:12: from is no month: "2022-1"
hint: write it as 2026-03
etc/c/baselines.yaml:3:41: period "week" is not known
hint: one of month, quarter
etc/c/calendar.yaml:1:13: grace_days must be a whole number from 0 to 60, not "100"
etc/c/interventions.yaml:2:5: label is longer than 32 characters and would not fit on an axis
hint: put the rest into the key "text"
etc/c/interventions.yaml:3:5: intervention lacks the key "label"
etc/c/interventions.yaml:3:21: unknown key "labl" in intervention
hint: did you mean "label"?
etc/c/phases.yaml:2:5: phase lacks the key "decided_by"
etc/c/phases.yaml:2:5: phase lacks the key "signal"`)
}

// Every settings file of the repository loads and names only measures that exist.
func TestSettingsOfTheRepository(t *testing.T) {
	e, _ := engine(t, 1)
	var ids []string
	for _, d := range e.Catalogue.Measures {
		ids = append(ids, d.ID)
	}
	for _, folder := range []string{"configs", "configs/demo/settings"} {
		s, err := LoadSettings(os.DirFS(".."), "", folder)
		require.NoError(t, err)
		require.Empty(t, s.Check(nil, ids))
	}
}
