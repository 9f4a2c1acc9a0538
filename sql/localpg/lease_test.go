package localpg

import (
	"context"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

func TestALeaseStartsTheServerAndStopsIt(t *testing.T) {
	dir := cleanFolder(t)
	lease := acquire(t, dir)
	require.True(t, lease.Started())
	for setting, want := range map[string]string{
		"server_encoding":                 "UTF8",
		"lc_collate":                      "C",
		"data_checksums":                  "on",
		"listen_addresses":                "",
		"unix_socket_permissions":         "0700",
		"dynamic_shared_memory_type":      "mmap",
		"max_parallel_workers_per_gather": "0",
		"jit":                             "off",
		"wal_level":                       "minimal",
		"TimeZone":                        "UTC",
		"fsync":                           "off", // as asked for by the test
	} {
		require.Equal(t, want, ask(t, lease, "select coalesce(current_setting('"+setting+"'), '')"), setting)
	}
	require.Equal(t, Owner, ask(t, lease, "select current_user"))
	require.Equal(t, "0", ask(t, lease, "select count(*) from pg_file_settings where error is not null"))

	owner, err := ownerOf(filepath.Join(dir, "data"))
	require.NoError(t, err)
	require.NotZero(t, owner, "a server may not run as root")
	st, err := os.Stat(filepath.Join(dir, "data"))
	require.NoError(t, err)
	require.Equal(t, os.FileMode(0o700), st.Mode().Perm())

	require.NoError(t, lease.Release())
	require.Empty(t, at(t, dir).processes())
	require.NoFileExists(t, filepath.Join(dir, "data", "postmaster.pid"))
	require.NoError(t, lease.Release(), "giving back twice is harmless")
}

func TestSafetyIsOnUnlessATestTurnsItOff(t *testing.T) {
	dir := cleanFolder(t)
	lease, err := Acquire(t.Context(), Options{Dir: dir})
	require.NoError(t, err)
	defer func() { require.NoError(t, lease.Release()) }()
	for _, setting := range []string{"fsync", "full_page_writes", "synchronous_commit"} {
		require.Equal(t, "on", ask(t, lease, "show "+setting), setting)
	}
}

func TestTheLastOneOutStopsTheServer(t *testing.T) {
	dir := cleanFolder(t)
	first := cast(t, nil, "lease", dir)
	require.True(t, strings.HasPrefix(first.says(t), "ready true "))
	second := acquire(t, dir)
	require.False(t, second.Started())
	third := acquire(t, dir) // a second one in the same process counts as well
	pid := postmaster(t, dir)

	first.leaves(t)
	require.Equal(t, "1", ask(t, second, "select 1"))
	require.NoError(t, second.Release())
	require.Equal(t, "1", ask(t, third, "select 1"))
	require.Equal(t, pid, postmaster(t, dir))
	require.NoError(t, third.Release())
	require.Empty(t, at(t, dir).processes())
}

// Several processes start on a folder that does not exist, work, and leave or
// are killed at random. No query may fail while its process holds a lease,
// and nothing may be left running in the end.
func TestManyProcessesComeAndGo(t *testing.T) {
	dir := cleanFolder(t)
	dice := rand.New(rand.NewPCG(1, 2))
	const rounds, together = 3, 4
	for range rounds {
		var all sync.WaitGroup
		for range together {
			stay, killed := time.Duration(dice.IntN(400))*time.Millisecond, dice.IntN(2) == 0
			a := cast(t, nil, "lease", dir)
			all.Go(func() {
				line := a.says(t)
				if !strings.HasPrefix(line, "ready") {
					t.Errorf("a lease was refused: %s", line)
					return
				}
				time.Sleep(stay)
				if killed {
					_ = a.cmd.Process.Kill()
				} else {
					_ = a.input.Close()
				}
				if rest := a.rest(t); strings.Contains(rest, "error") {
					t.Errorf("while holding a lease: %s", rest)
				}
			})
		}
		all.Wait()
	}
	last := acquire(t, dir)
	require.Equal(t, "1", ask(t, last, "select 1"))
	require.NoError(t, last.Release())
}

func TestTheServerOutlivesAKilledHolder(t *testing.T) {
	dir := cleanFolder(t)
	holder := cast(t, nil, "lease", dir)
	require.True(t, strings.HasPrefix(holder.says(t), "ready true "))
	pid := postmaster(t, dir)
	holder.dies(t)

	next := acquire(t, dir)
	require.False(t, next.Started())
	require.Equal(t, pid, postmaster(t, dir))
	require.Equal(t, "1", ask(t, next, "select 1"))
	require.NoError(t, next.Release())
	require.Empty(t, at(t, dir).processes(), "the next one out stops what the killed one left")
}

func TestGivingUpWhileWaiting(t *testing.T) {
	dir := cleanFolder(t)
	acquire(t, dir)
	busy, err := openLock(filepath.Join(dir, "start.lock"))
	require.NoError(t, err)
	got, err := busy.try(syscall.LOCK_EX)
	require.NoError(t, err)
	require.True(t, got)
	ctx, cancel := context.WithTimeout(t.Context(), 50*time.Millisecond)
	defer cancel()
	_, err = Acquire(ctx, Options{Dir: dir})
	require.ErrorIs(t, err, context.DeadlineExceeded)
	require.ErrorContains(t, err, "waiting for another process")
	busy.close()
}

func TestACancelledStartLeavesNothing(t *testing.T) {
	dir := cleanFolder(t)
	for _, d := range []time.Duration{30, 120, 250, 400} { // some inside initdb, some inside the start
		ctx, cancel := context.WithTimeout(t.Context(), d*time.Millisecond)
		lease, err := Acquire(ctx, Options{Dir: dir, Unsynced: true})
		cancel()
		if err == nil { // a quick machine
			require.NoError(t, lease.Release())
		} else {
			require.ErrorIs(t, err, context.DeadlineExceeded)
		}
		require.Eventually(t, func() bool { return len(at(t, dir).processes()) == 0 }, 5*time.Second, 10*time.Millisecond)
	}
	require.Equal(t, "1", ask(t, acquire(t, dir), "select 1"))
}
