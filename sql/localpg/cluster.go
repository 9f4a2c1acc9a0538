package localpg

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io/fs"
	"log/slog"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"time"
)

// marker is the file that tells a complete cluster of ours from any other
// folder called data. It is written after everything else.
const marker = "chestrise.cluster"

// cluster is a data folder and what is needed to run it.
type cluster struct {
	dir      string // absolute, without symbolic links
	data     string
	as       account
	programs programs
	unsynced bool
	log      *slog.Logger
}

// open resolves the options. It makes the data folder, and nothing in it.
func open(o Options) (*cluster, error) {
	dir := o.Dir
	if dir == "" {
		var err error
		if dir, err = DefaultDir(o.Name); err != nil {
			return nil, err
		}
	}
	dir, err := prepareFolder(dir)
	if err != nil {
		return nil, err
	}
	c := &cluster{
		dir: dir, data: filepath.Join(dir, "data"), as: account{}, programs: programs{dir: o.Programs, major: 0},
		unsynced: o.Unsynced, log: o.Log,
	}
	if c.as, err = serverAccount(c.data); err != nil {
		return nil, err
	}
	if err := c.as.reaches(dir); err != nil {
		return nil, err
	}
	return c, nil
}

// prepare finds the programs and makes the cluster if there is none. The
// caller holds start.lock.
func (c *cluster) prepare(ctx context.Context) error {
	major, err := dataVersion(c.data)
	if err != nil {
		return err
	}
	found := findPrograms
	if given := c.programs.dir; given != "" {
		p, err := readPrograms(given)
		if err != nil {
			return err
		}
		found = func() []programs { return []programs{p} }
	}
	if c.programs, err = choose(found(), major, c.data); err != nil {
		return err
	}
	if major == 0 {
		return c.initialise(ctx)
	}
	if _, err := os.Lstat(filepath.Join(c.data, marker)); err != nil {
		return fmt.Errorf("%s is a PostgreSQL cluster, but not one made by this program%s", c.data,
			hint("choose another data folder"))
	}
	uid, err := ownerOf(c.data)
	if err != nil {
		return err
	}
	if uid != c.as.uid {
		return foreignFolder(c.data, uid)
	}
	return nil
}

// initialise makes the cluster beside its final place and renames it when it
// is complete, so that one left half-made by a crash is made anew.
func (c *cluster) initialise(ctx context.Context) error {
	fresh := c.data + ".new"
	// initdb goes on after the process that ran it was killed.
	for {
		makers := c.working(fresh, "initdb", "postgres")
		if len(makers) == 0 {
			break
		}
		for _, pid := range makers {
			_ = syscall.Kill(pid, syscall.SIGKILL) // it may have ended by now
		}
		if err := pause(ctx, tick); err != nil {
			return fmt.Errorf("making the cluster: %w", err)
		}
	}
	if err := os.RemoveAll(fresh); err != nil {
		return fmt.Errorf("removing a half-made cluster: %w", err)
	}
	if err := os.Mkdir(fresh, 0o700); err != nil {
		return fmt.Errorf("making the cluster: %w", err)
	}
	if err := c.give(fresh); err != nil {
		return fmt.Errorf("making the cluster: %w", err)
	}
	c.log.Info("making a private cluster", "folder", c.data, "version", c.programs.major, "user", c.as.name)
	args := []string{
		"--pgdata=" + fresh, "--username=" + Owner,
		"--encoding=UTF8", "--locale=C", "--data-checksums",
		"--auth-local=peer", "--auth-host=reject", "--no-instructions",
	}
	if c.unsynced {
		args = append(args, "--no-sync")
	}
	cmd := exec.CommandContext(ctx, c.programs.path("initdb"), args...)
	c.asChild(cmd, fresh)
	cmd.Cancel = func() error { return syscall.Kill(-cmd.Process.Pid, syscall.SIGKILL) } // initdb has children
	cmd.WaitDelay = 5 * time.Second
	if out, err := cmd.CombinedOutput(); err != nil {
		return fmt.Errorf("initdb: %w", errors.Join(err, context.Cause(ctx), errors.New(lastLines(out, 5))))
	}
	if err := c.write(filepath.Join(fresh, marker), "A private cluster of chestrise. Complete since this file exists.\n"); err != nil {
		return err
	}
	if err := syncFolder(fresh); err != nil {
		return fmt.Errorf("making the cluster: %w", err)
	}
	if err := os.Rename(fresh, c.data); err != nil {
		return fmt.Errorf("making the cluster: %w", err)
	}
	return syncFolder(c.dir)
}

// asChild sets a server program up to run as the account, in a session of its
// own so that an interrupt typed at a terminal does not reach it, from a
// folder that the account can enter.
func (c *cluster) asChild(cmd *exec.Cmd, dir string) {
	cmd.Env = childEnvironment()
	cmd.Dir = dir
	cmd.SysProcAttr = &syscall.SysProcAttr{Setsid: true, Credential: c.as.credential()}
}

// give hands a file or folder to the server's user.
func (c *cluster) give(path string) error {
	if c.as.self() {
		return nil
	}
	return os.Lchown(path, int(c.as.uid), int(c.as.gid))
}

// write replaces a file in a folder of the server's user, whole or not at
// all. The temporary file is made with O_EXCL, so that a link planted by that
// user cannot lead root's write elsewhere.
func (c *cluster) write(path, text string) error {
	f, err := os.CreateTemp(filepath.Dir(path), ".new-*")
	if err != nil {
		return fmt.Errorf("writing %s: %w", path, err)
	}
	_, err = f.WriteString(text)
	if err == nil && !c.as.self() {
		err = f.Chown(int(c.as.uid), int(c.as.gid))
	}
	if err == nil {
		err = f.Sync()
	}
	if err = errors.Join(err, f.Close()); err == nil {
		err = os.Rename(f.Name(), path)
	}
	if err != nil {
		_ = os.Remove(f.Name())
		return fmt.Errorf("writing %s: %w", path, err)
	}
	return nil
}

// openLog opens the server's log and returns its present length. The server
// inherits the file, so it needs no right to open it. One that has grown
// large is set aside once.
func (c *cluster) openLog() (*os.File, int64, error) {
	const large = 10 << 20
	path := filepath.Join(c.dir, "server.log")
	if st, err := os.Lstat(path); err == nil && st.Size() > large {
		if err := os.Rename(path, path+".1"); err != nil {
			return nil, 0, fmt.Errorf("server log: %w", err)
		}
	}
	f, err := os.OpenFile(path, os.O_CREATE|os.O_RDWR|os.O_APPEND|syscall.O_NOFOLLOW, 0o640)
	if err != nil {
		return nil, 0, fmt.Errorf("server log: %w", err)
	}
	st, err := f.Stat()
	if err != nil {
		_ = f.Close()
		return nil, 0, fmt.Errorf("server log: %w", err)
	}
	return f, st.Size(), nil
}

// lastLines returns the end of a program's output for an error message.
func lastLines(out []byte, n int) string {
	lines := strings.Split(string(bytes.TrimSpace(out)), "\n")
	return strings.Join(lines[max(0, len(lines)-n):], "\n")
}

// exists is false only when path is certainly absent.
func exists(path string) bool {
	_, err := os.Lstat(path)
	return !errors.Is(err, fs.ErrNotExist)
}
