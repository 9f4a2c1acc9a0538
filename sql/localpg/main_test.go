package localpg

import (
	"bufio"
	"context"
	"database/sql"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"syscall"
	"testing"
	"time"

	_ "github.com/lib/pq"
	"github.com/stretchr/testify/require"
)

// The test program plays the other processes too: with this variable set it
// does what the variable says instead of running tests.
const part = "LOCALPG_TEST_PART"

func TestMain(m *testing.M) {
	switch os.Getenv(part) {
	case "":
		os.Exit(m.Run())
	case "lease": // hold a lease on the folder until standard input ends
		os.Exit(playLease(os.Stdout, os.Args[1]))
	case "query": // one query over the given connection string
		os.Exit(playQuery(os.Stdout, os.Args[1]))
	}
}

func playLease(out io.Writer, dir string) int {
	lease, err := Acquire(context.Background(), Options{Dir: dir, Unsynced: true})
	if err != nil {
		fmt.Fprintln(out, "error", err)
		return 1
	}
	fmt.Fprintln(out, "ready", lease.Started(), lease.DSN("postgres"))
	db, err := sql.Open("postgres", lease.DSN("postgres"))
	if err != nil {
		fmt.Fprintln(out, "error", err)
		return 1
	}
	ended := make(chan struct{})
	go func() {
		defer close(ended)
		_, _ = io.Copy(io.Discard, os.Stdin)
	}()
	for { // as long as the lease is held, every query must succeed
		var one int
		if err := db.QueryRow("select 1").Scan(&one); err != nil {
			fmt.Fprintln(out, "error", err)
			return 1
		}
		select {
		case <-ended:
			_ = db.Close()
			if err := lease.Release(); err != nil {
				fmt.Fprintln(out, "error", err)
				return 1
			}
			fmt.Fprintln(out, "released")
			return 0
		case <-time.After(5 * time.Millisecond):
		}
	}
}

func playQuery(out io.Writer, dsn string) int {
	db, err := sql.Open("postgres", dsn)
	if err == nil {
		_, err = db.Exec("select 1")
	}
	if err != nil {
		fmt.Fprintln(out, "error", err)
		return 1
	}
	fmt.Fprintln(out, "answered")
	return 0
}

// actor is another process of the play.
type actor struct {
	cmd   *exec.Cmd
	input io.WriteCloser
	lines *bufio.Reader
}

// cast starts a process with the given part. as is its user; nil means that
// of the test. before comes before the program on the command line.
func cast(t *testing.T, as *syscall.Credential, role, arg string, before ...string) *actor {
	t.Helper()
	program := os.Args[0]
	if as != nil { // the go tool's folder is closed to other users
		program = filepath.Join(folder(t), "play")
		b, err := os.ReadFile(os.Args[0])
		require.NoError(t, err)
		require.NoError(t, os.WriteFile(program, b, 0o755))
	}
	words := slices.Concat(before, []string{program, arg})
	cmd := exec.Command(words[0], words[1:]...)
	cmd.Env = append(os.Environ(), part+"="+role)
	cmd.SysProcAttr = &syscall.SysProcAttr{Credential: as}
	if as != nil {
		cmd.Dir = "/"
	}
	cmd.Stderr = os.Stderr
	input, err := cmd.StdinPipe()
	require.NoError(t, err)
	output, err := cmd.StdoutPipe()
	require.NoError(t, err)
	require.NoError(t, cmd.Start())
	t.Cleanup(func() {
		_ = cmd.Process.Kill()
		_ = cmd.Wait()
	})
	return &actor{cmd, input, bufio.NewReader(output)}
}

// says returns the actor's next line.
func (a *actor) says(t *testing.T) string {
	t.Helper()
	line, err := a.lines.ReadString('\n')
	require.NoError(t, err, "the process ended early, after %q", line)
	return strings.TrimSpace(line)
}

// rest returns everything that the actor still says until its end.
func (a *actor) rest(t *testing.T) string {
	t.Helper()
	b, err := io.ReadAll(a.lines)
	require.NoError(t, err)
	return string(b)
}

// leaves lets the actor give its lease back.
func (a *actor) leaves(t *testing.T) {
	t.Helper()
	require.NoError(t, a.input.Close())
	require.Equal(t, "released", a.says(t))
	require.NoError(t, a.cmd.Wait())
}

// dies kills the actor without warning.
func (a *actor) dies(t *testing.T) {
	t.Helper()
	require.NoError(t, a.cmd.Process.Kill())
	_ = a.cmd.Wait()
}

// folder is like t.TempDir, but can be passed through by other users. A
// server still at work in it at the end of the test is a failure.
func folder(t *testing.T) string {
	t.Helper()
	dir, err := os.MkdirTemp("/tmp", "localpg-")
	require.NoError(t, err)
	require.NoError(t, os.Chmod(dir, 0o711))
	t.Cleanup(func() { require.NoError(t, os.RemoveAll(dir)) })
	return dir
}

// cleanFolder returns a data folder to be made, and checks in the end that
// no server is left in it.
func cleanFolder(t *testing.T) string {
	t.Helper()
	dir := filepath.Join(folder(t), "d")
	t.Cleanup(func() {
		left := at(t, dir).processes()
		for _, pid := range left {
			_ = syscall.Kill(pid, syscall.SIGKILL)
		}
		require.Empty(t, left, "server processes left running")
	})
	return dir
}

// at describes the cluster in dir without taking a lease.
func at(t *testing.T, dir string) *cluster {
	t.Helper()
	data := filepath.Join(dir, "data")
	as, err := serverAccount(data)
	require.NoError(t, err)
	return &cluster{dir: dir, data: data, as: as}
}

func acquire(t *testing.T, dir string) *Lease {
	t.Helper()
	ctx, cancel := context.WithTimeout(t.Context(), 50*time.Second)
	defer cancel()
	lease, err := Acquire(ctx, Options{Dir: dir, Unsynced: true})
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, lease.Release()) })
	return lease
}

// ask returns the text of a one-value query.
func ask(t *testing.T, lease *Lease, query string) string {
	t.Helper()
	db, err := sql.Open("postgres", lease.DSN("postgres"))
	require.NoError(t, err)
	defer func() { require.NoError(t, db.Close()) }()
	var answer string
	require.NoError(t, db.QueryRow(query).Scan(&answer))
	return answer
}

func postmaster(t *testing.T, dir string) int {
	t.Helper()
	p, err := readPidFile(filepath.Join(dir, "data"))
	require.NoError(t, err)
	require.NotNil(t, p)
	return p.pid
}

func needRoot(t *testing.T) {
	t.Helper()
	if os.Geteuid() != 0 {
		t.Skip("only root can play another user")
	}
}
