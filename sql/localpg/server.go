package localpg

import (
	"context"
	"errors"
	"fmt"
	"net"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"time"
)

const (
	tick        = 10 * time.Millisecond
	reportEvery = 10 * time.Second
	// orphanLimit is how long backends may outlive a killed postmaster before
	// that counts as a fault.
	orphanLimit = 10 * time.Second
	goneSocket  = 2 * time.Second
)

// running is where a server that accepts connections is found.
type running struct {
	socketDir string
	port      int
	started   bool // by this process, just now
}

// ensure returns the running server, starting it if need be. The caller holds
// start.lock alone and use shared.
func (c *cluster) ensure(ctx context.Context, use *flock) (running, error) {
	if err := c.prepare(ctx); err != nil {
		return running{}, err
	}
	failed := 0
	for {
		if err := ctx.Err(); err != nil {
			return running{}, fmt.Errorf("private server of %s: %w", c.dir, context.Cause(ctx))
		}
		p, err := c.settled(ctx)
		if err != nil {
			return running{}, err
		}
		if p == nil {
			r, err := c.start(ctx)
			// A server that another process had only just launched when it was
			// killed may get in first: look again, once.
			if err != nil && failed == 0 && ctx.Err() == nil && len(c.processes()) > 0 {
				failed++
				continue
			}
			return r, err
		}
		r := running{socketDir: p.socketDir, port: p.port, started: false}
		err = reachable(ctx, r)
		if err == nil {
			return r, nil
		}
		// Its socket is gone or out of sight. Without other leases the server
		// can simply be started anew.
		alone, lockErr := use.try(syscall.LOCK_EX)
		if !alone || lockErr != nil || failed > 0 {
			return running{}, errors.Join(fmt.Errorf("the private server of %s runs, but its socket cannot be reached: %w%s", c.dir, err,
				hint("a service with a private /tmp may have started it; run this when that has ended")), lockErr)
		}
		failed++
		c.log.Warn("restarting a private server whose socket is gone", "folder", c.dir)
		if err := c.stop(ctx); err != nil {
			return running{}, err
		}
		if err := use.wait(ctx, syscall.LOCK_SH); err != nil {
			return running{}, err
		}
	}
}

// settled waits until the server is either ready, and returns what it tells
// of itself, or gone with all its processes, and returns nil.
func (c *cluster) settled(ctx context.Context) (*pidFile, error) {
	report := time.NewTicker(reportEvery)
	defer report.Stop()
	orphaned := time.Duration(0)
	for {
		p, err := readPidFile(c.data)
		if err != nil {
			return nil, err
		}
		processes := c.processes()
		switch {
		case p.live(processes):
			if p.status == "ready" {
				return p, nil
			}
			orphaned = 0
		case len(processes) > 0:
			// Backends without their postmaster, or one that has not written
			// its file yet. Starting beside them could ruin the data.
			if orphaned >= orphanLimit {
				return nil, fmt.Errorf("server processes %v still work in %s without their postmaster%s", processes, c.data,
					hint("end these processes and try again"))
			}
			orphaned += tick
		default:
			return nil, nil
		}
		select {
		case <-report.C:
			c.log.Info("waiting for the private server", "folder", c.dir, "processes", processes)
		default:
		}
		if err := pause(ctx, tick); err != nil {
			return nil, fmt.Errorf("waiting for the private server of %s: %w", c.dir, err)
		}
	}
}

// start runs the server program and waits until it accepts connections; after
// a crash that includes its recovery, however long it takes.
func (c *cluster) start(ctx context.Context) (running, error) {
	socketDir, err := c.socketDir()
	if err != nil {
		return running{}, err
	}
	if err := c.clearStale(socketDir); err != nil {
		return running{}, err
	}
	if err := c.configure(socketDir); err != nil {
		return running{}, err
	}
	logFile, before, err := c.openLog()
	if err != nil {
		return running{}, err
	}
	defer func() { _ = logFile.Close() }()

	// The program itself instead of pg_ctl: no shell that would interpret the
	// path, and no pipe that the server would keep open.
	cmd := exec.Command(c.programs.path("postgres"), "-D", c.data)
	c.asChild(cmd, c.data)
	cmd.Stdout, cmd.Stderr = logFile, logFile
	c.log.Info("starting the private server", "folder", c.dir, "version", c.programs.major, "user", c.as.name)
	if err := cmd.Start(); err != nil {
		return running{}, fmt.Errorf("starting the private server: %w", err)
	}
	exited := make(chan struct{})
	go func() { // reaps the server whenever it ends, so that no zombie stays
		defer close(exited)
		_ = cmd.Wait()
	}()
	report := time.NewTicker(reportEvery)
	defer report.Stop()
	poll := time.NewTicker(tick)
	defer poll.Stop()
	for {
		select {
		case <-exited:
			said := make([]byte, 8<<10)
			n, _ := logFile.ReadAt(said, before)
			return running{}, fmt.Errorf("the private server of %s did not start: %s%s", c.dir, reasons(said[:n]),
				hint("see %s", filepath.Join(c.dir, "server.log")))
		case <-ctx.Done():
			_ = cmd.Process.Signal(syscall.SIGINT)
			<-exited
			return running{}, fmt.Errorf("starting the private server of %s: %w", c.dir, context.Cause(ctx))
		case <-report.C:
			c.log.Info("the private server is still starting or recovering", "folder", c.dir)
		case <-poll.C:
			p, err := readPidFile(c.data)
			if err == nil && p != nil && p.pid == cmd.Process.Pid && p.status == "ready" {
				return running{socketDir: p.socketDir, port: p.port, started: true}, nil
			}
		}
	}
}

// stop ends the server in its fast mode: sessions are ended, a checkpoint is
// written. The caller holds both locks alone.
func (c *cluster) stop(ctx context.Context) error {
	p, err := readPidFile(c.data)
	if err != nil {
		return err
	}
	if processes := c.processes(); p.live(processes) {
		c.log.Info("stopping the private server", "folder", c.dir)
		// Only a number just seen at work in our folder is ever signalled.
		if err := syscall.Kill(p.pid, syscall.SIGINT); err != nil && !errors.Is(err, syscall.ESRCH) {
			return fmt.Errorf("stopping the private server of %s: %w", c.dir, err)
		}
	}
	for {
		processes := c.processes()
		if len(processes) == 0 {
			if p != nil && !strings.HasPrefix(p.socketDir, c.dir+"/") {
				_ = os.Remove(p.socketDir) // made for this server; only if empty
			}
			return nil
		}
		if err := pause(ctx, tick); err != nil {
			return fmt.Errorf("the private server of %s is still stopping (processes %v): %w", c.dir, processes, err)
		}
	}
}

// reachable tries the server's socket.
func reachable(ctx context.Context, r running) error {
	ctx, cancel := context.WithTimeout(ctx, goneSocket)
	defer cancel()
	conn, err := new(net.Dialer).DialContext(ctx, "unix", socketPath(r.socketDir, r.port))
	if err != nil {
		return err
	}
	return conn.Close()
}

// reasons picks from the server's log why it gave up.
func reasons(log []byte) string {
	var why []string
	for line := range strings.Lines(string(log)) {
		for _, kind := range []string{"FATAL:", "PANIC:", "HINT:", "postgres:"} {
			if _, text, found := strings.Cut(line, kind); found {
				why = append(why, strings.TrimSpace(text))
				break
			}
		}
	}
	if len(why) == 0 {
		return "it ended without a reason in its log"
	}
	return strings.Join(why, "; ")
}
