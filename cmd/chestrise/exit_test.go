package main

import (
	"bytes"
	"context"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"chestrise/sql/localpg/pgtest"
)

// minimal is a configuration without deliveries.
const minimal = `
measures: [ROOT/configs/measures]
units: ROOT/configs/demo/units.yaml
`

func TestExitCodes(t *testing.T) {
	path, out := configured(t, minimal)
	require.Equal(t, exitDone, call(t, "nightly", "--config", path).code, "a night without deliveries is a night")
	require.FileExists(t, filepath.Join(out, "run.json"))

	t.Run("usage", func(t *testing.T) {
		for _, args := range [][]string{
			{"fly"},
			{"nightly", "--fast"},
			{"nightly", "x"},
			{"why"},
			{"why", "a", "b", "c"},
			{"chart"},
			{"measures", "show"},
			{"why", "--config", path, "ffffffff", "any-corrective-step"},
			{"measures", "show", "no-such-measure", "--config", path},
			{"report", "--config", path, "--month", "March"},
			{"report", "--config", path, "--unit", "nowhere"},
		} {
			r := call(t, args...)
			require.Equal(t, exitUsage, r.code, "%v: %s", args, r.err)
		}
	})
	t.Run("configuration", func(t *testing.T) {
		r := call(t, "nightly", "--config", "nowhere.yaml")
		require.Equal(t, exitConfig, r.code)
		bad := filepath.Join(t.TempDir(), "bad.yaml")
		require.NoError(t, os.WriteFile(bad, []byte("measures: [x]\nunits: nowhere.yaml\nout: out\n"), 0o600))
		require.Equal(t, exitConfig, call(t, "check", "--config", bad).code)
	})
	t.Run("registry out of reach", func(t *testing.T) {
		t.Setenv("CHESTRISE_DSN", "host=/nowhere user=x password=sesame dbname=x sslmode=disable")
		r := call(t, "nightly", "--config", path)
		require.Equal(t, exitRegistry, r.code, r.err)
		require.NotContains(t, r.err, "sesame")
	})
	t.Run("locked", func(t *testing.T) {
		a := &app{streams: streams{out: &bytes.Buffer{}, err: &bytes.Buffer{}}, now: clock, configPath: path}
		err := a.with(t.Context(), func(_ *config, s *session) error {
			return a.running(t.Context(), s, func() error {
				r := call(t, "nightly", "--config", path)
				require.Equal(t, exitLocked, r.code)
				require.Contains(t, r.err, "hint: wait for it to end")
				return nil
			})
		})
		require.NoError(t, err)
	})
	t.Run("interrupted", func(t *testing.T) {
		ctx, cancel := context.WithCancel(t.Context())
		cancel()
		var err bytes.Buffer
		require.Equal(t, exitInterrupted, run(ctx, []string{"nightly", "--config", path}, streams{out: &bytes.Buffer{}, err: &err}, clock), err.String())
	})
	t.Run("refused deliveries", func(t *testing.T) {
		inbox := t.TempDir()
		broken := filepath.Join(inbox, "broken")
		require.NoError(t, os.MkdirAll(broken, 0o750))
		require.NoError(t, os.WriteFile(filepath.Join(broken, "newborns.csv"), []byte("unit\n"), 0o600))
		require.NoError(t, os.WriteFile(filepath.Join(broken, "manifest.json"), []byte("{}"), 0o600))
		r := call(t, "nightly", "--config", path, "--inbox", inbox)
		require.Equal(t, exitFailed, r.code, "every delivery was refused: %s", r.err)
		require.Contains(t, r.out, "manifest.json")
		require.Contains(t, readFile(t, filepath.Join(out, "run.json")), "1 of 1 deliveries refused")

		require.NoError(t, os.CopyFS(filepath.Join(inbox, "good"), os.DirFS("../../testdata/deliveries/eight")))
		r = call(t, "nightly", "--config", path, "--inbox", inbox)
		require.Equal(t, exitIncomplete, r.code, "one of two was refused: %s", r.err)
		require.Contains(t, r.out, "read 8 = loaded 8 +")
	})
	t.Run("a source is missing", func(t *testing.T) {
		path, _ := configured(t, `
measures: [ROOT/configs/measures]
units: `+write(t, "units.yaml", "units: [{code: worked, name: Worked, sources: [worked, another]}]")+`
settings: `+filepath.Dir(write(t, "calendar.yaml", "grace_days: 0"))+`
`)
		r := call(t, "nightly", "--config", path, "--inbox", "../../testdata/deliveries/eight")
		require.Equal(t, exitIncomplete, r.code, r.err)
		require.Contains(t, r.out, "issue 1 (new)", "the report is published all the same")
		require.Contains(t, r.err, "worked 2026-03: source another has sent nothing")
	})
}

// write puts a file of the test into a folder of its own.
func write(t *testing.T, name, text string) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), name)
	require.NoError(t, os.WriteFile(path, []byte(text), 0o600))
	return path
}

func TestAPanicIsAnExitCode(t *testing.T) {
	var errs bytes.Buffer
	code := run(t.Context(), []string{"chart", "--type", "p", "--data", "testdata/panic.csv"}, streams{out: faulty{}, err: &errs}, clock)
	require.Equal(t, exitFailed, code)
	require.Contains(t, errs.String(), "stopped by a fault of the program")
}

// faulty is a writer that breaks.
type faulty struct{}

func (faulty) Write([]byte) (int, error) { panic("broken writer") }

func TestASchemaThatIsBehindIsSaid(t *testing.T) {
	path, _ := configured(t, minimal)
	t.Setenv("CHESTRISE_DSN", pgtest.DSN(t)) // another database, without tables
	r := call(t, "nightly", "--config", path)
	require.Equal(t, exitRegistry, r.code)
	require.Contains(t, r.err, "hint: chestrise migrate")
}
