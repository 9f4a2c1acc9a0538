package main

import (
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"chestrise/sql/localpg/pgtest"
)

func TestTheCommandDecidesTheExitCode(t *testing.T) {
	for _, c := range []struct {
		args []string
		code int
	}{
		{[]string{"true"}, 0},
		{[]string{"--", "sh", "-c", "exit 7"}, 7},
		{[]string{"sh", "-c", "kill -9 $$"}, 1},
	} {
		code, err := hold(c.args)
		require.NoError(t, err)
		require.Equal(t, c.code, code, c.args)
	}
	code, err := hold(nil)
	require.ErrorContains(t, err, "no command")
	require.Equal(t, 2, code)
	code, err = hold([]string{"/nonexistent/program"})
	require.ErrorContains(t, err, "/nonexistent/program")
	require.Equal(t, 1, code)
}

func TestTheCommandFindsTheServerUp(t *testing.T) {
	out := filepath.Join(t.TempDir(), "out")
	code, err := hold([]string{"sh", "-c", `echo "$0 $` + pgtest.Variable + `" >` + out + ` && test -e "$` + pgtest.Variable + `/data/postmaster.pid"`, "x"})
	require.NoError(t, err)
	require.Zero(t, code)
	b, err := os.ReadFile(out)
	require.NoError(t, err)
	require.Equal(t, "x "+pgtest.Dir(), strings.TrimSpace(string(b)))
}

func TestATerminationIsPassedOnAndTheLeaseGivenBack(t *testing.T) {
	ready := filepath.Join(t.TempDir(), "ready")
	go func() {
		for {
			if _, err := os.Stat(ready); err == nil {
				_ = syscall.Kill(os.Getpid(), syscall.SIGTERM)
				return
			}
			time.Sleep(5 * time.Millisecond)
		}
	}()
	code, err := hold([]string{"sh", "-c", "trap 'exit 42' TERM; touch " + ready + "; while :; do sleep 0.05; done"})
	require.NoError(t, err)
	require.Equal(t, 42, code)
}
