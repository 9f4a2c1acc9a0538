package main

import (
	"bytes"
	"context"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/rogpeppe/go-internal/testscript"
	"github.com/stretchr/testify/require"

	"chestrise/sql/localpg/pgtest"
)

// clock is the time of every run in these tests: after the demo's deliveries.
func clock() time.Time { return time.Date(2026, 11, 25, 2, 0, 0, 0, time.UTC) }

func TestMain(m *testing.M) {
	testscript.Main(runner{m}, map[string]func(){
		"chestrise": func() {
			os.Exit(run(context.Background(), os.Args[1:], streams{out: os.Stdout, err: os.Stderr}, clock))
		},
	})
}

// runner keeps the test server up between the tests of this package.
type runner struct{ m *testing.M }

func (r runner) Run() int { return pgtest.Main(r.m) }

func TestScripts(t *testing.T) {
	testscript.Run(t, testscript.Params{
		Dir: "testdata/scripts",
		Setup: func(e *testscript.Env) error {
			root, err := filepath.Abs("../..")
			if err != nil {
				return err
			}
			e.Setenv("ROOT", root)
			e.Setenv("CHESTRISE_DSN", pgtest.DSN(t))
			return nil
		},
	})
}

// ran is what one call of the program said.
type ran struct {
	code     int
	out, err string
}

// call runs the program in this process.
func call(t *testing.T, args ...string) ran {
	t.Helper()
	var out, err bytes.Buffer
	code := run(t.Context(), args, streams{out: &out, err: &err}, clock)
	return ran{code, out.String(), err.String()}
}

// must runs the program and wants it done.
func must(t *testing.T, args ...string) string {
	t.Helper()
	r := call(t, args...)
	require.Equal(t, exitDone, r.code, "chestrise %s\n%s%s", strings.Join(args, " "), r.out, r.err)
	return r.out
}

// configured writes a configuration whose registry is a new test database and
// whose reports go to a folder of the test.
func configured(t *testing.T, lines string) (config, out string) {
	t.Helper()
	t.Setenv("CHESTRISE_DSN", pgtest.DSN(t))
	root, err := filepath.Abs("../..")
	require.NoError(t, err)
	dir := t.TempDir()
	out = filepath.Join(dir, "out")
	config = filepath.Join(dir, "chestrise.yaml")
	text := strings.ReplaceAll(lines, "ROOT", root) + "\nout: " + out + "\n"
	require.NoError(t, os.WriteFile(config, []byte(text), 0o600))
	must(t, "migrate", "--config", config)
	return config, out
}
