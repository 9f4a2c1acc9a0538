package localpg

import (
	"bytes"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"syscall"
)

// pidFile is what a server tells about itself in postmaster.pid.
type pidFile struct {
	pid       int
	port      int
	socketDir string
	status    string // starting, stopping, ready or standby; empty while the file is being written
}

// readPidFile returns nil when there is no file, or only the beginning of one.
func readPidFile(data string) (*pidFile, error) {
	b, err := os.ReadFile(filepath.Join(data, "postmaster.pid"))
	if os.IsNotExist(err) {
		return nil, nil
	}
	if err != nil {
		return nil, fmt.Errorf("server state: %w", err)
	}
	// lines: pid, data folder, start time, port, socket folder, address, shared memory, status
	lines := strings.Split(string(b), "\n")
	line := func(i int) string {
		if i < len(lines) {
			return strings.TrimSpace(lines[i])
		}
		return ""
	}
	p := &pidFile{pid: 0, port: 0, socketDir: line(4), status: line(7)}
	p.pid, _ = strconv.Atoi(line(0))
	p.pid = max(p.pid, -p.pid) // negative: a server in single-user mode
	p.port, _ = strconv.Atoi(line(3))
	if p.pid == 0 { // only the beginning of a file
		return nil, nil
	}
	return p, nil
}

// processes returns the server processes that work in the cluster's folder:
// the postmaster, and backends that may outlive it for a moment. A process
// number alone proves nothing: it may be a zombie that nobody has reaped, or
// belong to another program by now.
func (c *cluster) processes() []int { return c.working(c.data, "postgres") }

// working returns the processes of the named programs whose working folder is
// dir.
func (c *cluster) working(dir string, names ...string) []int {
	var pids []int
	c.as.see(func() {
		home, err := os.Stat(dir)
		if err != nil {
			return
		}
		entries, err := os.ReadDir("/proc")
		if err != nil {
			return
		}
		for _, e := range entries {
			pid, err := strconv.Atoi(e.Name())
			if err != nil {
				continue
			}
			proc := "/proc/" + e.Name()
			comm, err := os.ReadFile(proc + "/comm")
			if err != nil || !slices.Contains(names, string(bytes.TrimSpace(comm))) {
				continue
			}
			// A zombie has no working folder; somebody else's is not told.
			if cwd, err := os.Stat(proc + "/cwd"); err == nil && os.SameFile(cwd, home) {
				pids = append(pids, pid)
			}
		}
	})
	return pids
}

// live tells whether the server of p still runs, among the processes found.
func (p *pidFile) live(processes []int) bool {
	return p != nil && slices.Contains(processes, p.pid)
}

// clearStale removes lock files that the server itself could not: those whose
// process number is taken by an unrelated program, or by a zombie that nobody
// reaps, so that it looks alive. The caller has made sure that no process
// works in the data folder, and holds start.lock. All other leftovers are the
// server's own to judge.
func (c *cluster) clearStale(socketDir string) error {
	for _, path := range []string{
		filepath.Join(c.data, "postmaster.pid"),
		socketPath(socketDir, port) + ".lock",
	} {
		b, err := os.ReadFile(path)
		if err != nil {
			continue // absent, or not ours to read: the server will say
		}
		first, _, _ := strings.Cut(string(b), "\n")
		pid, err := strconv.Atoi(strings.TrimSpace(first))
		pid = max(pid, -pid)
		if err != nil || pid == 0 || !taken(pid) || !c.unrelated(pid) {
			continue
		}
		c.log.Warn("removing a server lock file whose process number belongs to another process", "file", path, "pid", pid)
		if err := os.Remove(path); err != nil {
			return fmt.Errorf("stale lock file: %w", err)
		}
	}
	return nil
}

// taken tells whether any process, a zombie included, has the number.
func taken(pid int) bool {
	err := syscall.Kill(pid, 0)
	return err == nil || errors.Is(err, syscall.EPERM)
}

// unrelated tells whether a process is certainly not a server at work in the
// data folder. A server whose folder cannot be seen might be.
func (c *cluster) unrelated(pid int) bool {
	if zombie(pid) {
		return true
	}
	certain := false
	c.as.see(func() {
		proc := "/proc/" + strconv.Itoa(pid)
		comm, err := os.ReadFile(proc + "/comm")
		if err != nil {
			return
		}
		if string(bytes.TrimSpace(comm)) != "postgres" {
			certain = true
			return
		}
		home, homeErr := os.Stat(c.data)
		cwd, err := os.Stat(proc + "/cwd")
		certain = err == nil && homeErr == nil && !os.SameFile(cwd, home)
	})
	return certain
}

// zombie tells whether a process has ended without having been reaped.
func zombie(pid int) bool {
	b, err := os.ReadFile("/proc/" + strconv.Itoa(pid) + "/stat")
	if err != nil {
		return false
	}
	// The state follows the program's name, which may itself hold brackets.
	rest := b[bytes.LastIndexByte(b, ')')+1:]
	return bytes.HasPrefix(bytes.TrimSpace(rest), []byte("Z"))
}
