package localpg

import (
	"context"
	"database/sql"
	"fmt"
	"log/slog"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// subreaper makes this process the parent of orphans, whom it never reaps, as
// the first process of many containers does.
func subreaper(t *testing.T, on uintptr) {
	t.Helper()
	const prSetChildSubreaper = 36
	_, _, errno := syscall.RawSyscall(syscall.SYS_PRCTL, prSetChildSubreaper, on, 0)
	require.Zero(t, errno)
}

func TestAKilledServerIsStartedAgainWithItsData(t *testing.T) {
	dir := cleanFolder(t)
	lease, err := Acquire(t.Context(), Options{Dir: dir}) // synced: what was committed must be there
	require.NoError(t, err)
	defer func() { require.NoError(t, lease.Release()) }()
	db, err := sql.Open("postgres", lease.DSN("postgres"))
	require.NoError(t, err)
	defer func() { _ = db.Close() }()
	_, err = db.Exec("create table kept as select 42 as n")
	require.NoError(t, err)
	require.NoError(t, syscall.Kill(postmaster(t, dir), syscall.SIGKILL))

	next := acquire(t, dir)
	require.True(t, next.Started())
	require.Equal(t, "42", ask(t, next, "select n from kept"))
	require.Equal(t, "42", ask(t, lease, "select n from kept"), "the socket stays where it was for the earlier lease")
}

func TestAZombieDoesNotPassForAServer(t *testing.T) {
	dir := cleanFolder(t)
	subreaper(t, 1)
	defer subreaper(t, 0)
	holder := cast(t, nil, "lease", dir)
	holder.says(t)
	holder.dies(t)
	pid := postmaster(t, dir)
	require.NoError(t, syscall.Kill(pid, syscall.SIGKILL))
	require.Eventually(t, func() bool { return zombie(pid) }, 5*time.Second, time.Millisecond)

	next := acquire(t, dir)
	require.True(t, next.Started())
	require.Equal(t, "1", ask(t, next, "select 1"))
	require.True(t, zombie(pid), "it was there all the time")
	subreaper(t, 0)
	_, err := syscall.Wait4(pid, nil, 0, nil)
	require.NoError(t, err)
}

// After a crash of the machine the recorded numbers may belong to other
// programs of the same user, which a server by itself takes for its own kind.
func TestARecycledProcessNumberDoesNotPassForAServer(t *testing.T) {
	dir := cleanFolder(t)
	lease := acquire(t, dir)
	pidText, err := os.ReadFile(filepath.Join(dir, "data", "postmaster.pid"))
	require.NoError(t, err)
	lockText, err := os.ReadFile(filepath.Join(dir, "run", ".s.PGSQL.5432.lock"))
	require.NoError(t, err)
	old := strconv.Itoa(postmaster(t, dir))
	require.NoError(t, lease.Release())

	c := at(t, dir)
	other := exec.Command("sleep", "60")
	other.SysProcAttr = &syscall.SysProcAttr{Credential: c.as.credential()}
	require.NoError(t, other.Start())
	defer func() {
		_ = other.Process.Kill()
		_ = other.Wait()
	}()
	recycle := func(path string, text []byte) {
		text = []byte(strings.Replace(string(text), old, strconv.Itoa(other.Process.Pid), 1))
		require.NoError(t, os.WriteFile(path, text, 0o600))
		require.NoError(t, c.give(path))
	}
	recycle(filepath.Join(dir, "data", "postmaster.pid"), pidText)
	recycle(filepath.Join(dir, "run", ".s.PGSQL.5432.lock"), lockText)

	said := new(strings.Builder)
	next, err := Acquire(t.Context(), Options{Dir: dir, Unsynced: true, Log: slog.New(slog.NewTextHandler(said, nil))})
	require.NoError(t, err)
	defer func() { require.NoError(t, next.Release()) }()
	require.True(t, next.Started())
	require.Equal(t, 2, strings.Count(said.String(), "belongs to another process"), said)
	require.NoError(t, other.Process.Signal(syscall.Signal(0)), "the other program was left alone")
}

// A backend that outlives its postmaster may still write. Until it is gone no
// second server may start, and the record of the first must stay.
func TestAnOrphanedBackendHoldsUpTheNextStart(t *testing.T) {
	dir := cleanFolder(t)
	lease := acquire(t, dir)
	db, err := sql.Open("postgres", lease.DSN("postgres"))
	require.NoError(t, err)
	defer func() { _ = db.Close() }()
	var backend int
	require.NoError(t, db.QueryRow("select pg_backend_pid()").Scan(&backend))
	require.NoError(t, syscall.Kill(backend, syscall.SIGSTOP))
	require.NoError(t, syscall.Kill(postmaster(t, dir), syscall.SIGKILL))

	ctx, cancel := context.WithTimeout(t.Context(), 700*time.Millisecond)
	defer cancel()
	_, err = Acquire(ctx, Options{Dir: dir, Unsynced: true})
	require.ErrorIs(t, err, context.DeadlineExceeded)
	require.FileExists(t, filepath.Join(dir, "data", "postmaster.pid"))

	require.NoError(t, syscall.Kill(backend, syscall.SIGCONT))
	require.True(t, acquire(t, dir).Started())
}

func TestAHalfMadeClusterIsMadeAnew(t *testing.T) {
	dir := cleanFolder(t)
	half := filepath.Join(dir, "data.new")
	require.NoError(t, os.MkdirAll(half, 0o700))
	require.NoError(t, os.WriteFile(filepath.Join(half, "PG_VERSION"), []byte("15\n"), 0o600))
	require.NoError(t, os.Chmod(dir, 0o711))
	require.Equal(t, "1", ask(t, acquire(t, dir), "select 1"))
	require.NoDirExists(t, half)
}

func TestAMakerKilledInTheMiddle(t *testing.T) {
	dir := cleanFolder(t)
	maker := cast(t, nil, "lease", dir)
	require.Eventually(t, func() bool {
		return exists(filepath.Join(dir, "data.new", "PG_VERSION")) || exists(filepath.Join(dir, "data"))
	}, 20*time.Second, time.Millisecond)
	maker.dies(t)
	require.Equal(t, "1", ask(t, acquire(t, dir), "select 1"))
}

func TestALostSocketIsMadeAnew(t *testing.T) {
	dir := cleanFolder(t)
	holder := cast(t, nil, "lease", dir)
	holder.says(t)
	holder.dies(t)
	socket := filepath.Join(dir, "run", ".s.PGSQL.5432")
	require.NoError(t, os.Remove(socket))
	next := acquire(t, dir)
	require.True(t, next.Started())
	require.Equal(t, "1", ask(t, next, "select 1"))

	// While others hold leases, a restart would cut them off.
	require.NoError(t, os.Remove(socket))
	_, err := Acquire(t.Context(), Options{Dir: dir, Unsynced: true})
	require.ErrorContains(t, err, "socket cannot be reached")
	require.ErrorContains(t, err, "hint: ")
	require.NotEmpty(t, at(t, dir).processes())
}

func TestAServerThatCannotStartSaysWhy(t *testing.T) {
	dir := cleanFolder(t)
	require.NoError(t, acquire(t, dir).Release())
	require.NoError(t, os.WriteFile(filepath.Join(dir, "local.conf"), []byte("shared_buffers = nonsense\n"), 0o644))
	_, err := Acquire(t.Context(), Options{Dir: dir, Unsynced: true})
	require.ErrorContains(t, err, "did not start")
	require.ErrorContains(t, err, "hint: see "+filepath.Join(dir, "server.log"))
	require.ErrorContains(t, err, "local.conf", "the server's own words name the file")

	// An administrator's settings win, except those that the lease needs.
	own := "work_mem = 9MB\nlisten_addresses = '*'\n"
	require.NoError(t, os.WriteFile(filepath.Join(dir, "local.conf"), []byte(own), 0o644))
	lease := acquire(t, dir)
	require.Equal(t, "9MB", ask(t, lease, "show work_mem"))
	require.Equal(t, "none", ask(t, lease, "select coalesce(nullif(current_setting('listen_addresses'), ''), 'none')"))
}

func TestTheServerLogKeepsNoValues(t *testing.T) {
	dir := cleanFolder(t)
	lease := acquire(t, dir)
	db, err := sql.Open("postgres", lease.DSN("postgres"))
	require.NoError(t, err)
	defer func() { _ = db.Close() }()
	const value = "31415"
	for _, statement := range []string{
		fmt.Sprintf("select '%s'::date", value),
		"create temp table one (n int primary key, check (n < 10))",
		fmt.Sprintf("insert into one values (%s)", value),
		fmt.Sprintf("do $$ begin raise warning 'about %s'; end $$", value),
	} {
		_, _ = db.Exec(statement) // most of them fail, and that is the point
	}
	_, err = db.Exec("insert into one values ($1)", value)
	require.ErrorContains(t, err, "violates check constraint")
	log, err := os.ReadFile(filepath.Join(dir, "server.log"))
	require.NoError(t, err)
	require.NotContains(t, string(log), value)
	require.Contains(t, string(log), "ready to accept connections")
}
