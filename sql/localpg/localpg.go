// Package localpg runs a private PostgreSQL server for one data folder: the
// registry's default where no server was configured.
//
// The server listens on a unix socket only. Nobody starts or stops it by
// hand: a process takes a [Lease], which starts the server if it is not up,
// and gives the lease back, which stops the server if nobody else holds one.
// A process that dies without giving its lease back leaves the server running
// for the next one, which then stops it in its turn.
//
// A data folder looks like this:
//
//	start.lock    held alone, only while the server is being started or stopped
//	use.lock      held shared by every lease for its whole life
//	data/         the cluster, made in data.new/ and renamed when complete
//	run/          the socket, where its path is short enough (see socket.go)
//	server.log    what the server says; no statements and no values
//	local.conf    optional: the administrator's own server settings
//
// Only Linux is supported, because finding out whether a recorded server
// process is still the same process needs /proc.
package localpg

import (
	"context"
	"fmt"
	"log/slog"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"sync"
	"syscall"
	"time"
)

// Owner is the database role that owns the cluster, and the only one that can
// log in: as it come the operating system user of the server, and root.
const Owner = "chestrise"

// stopLimit bounds how long giving a lease back waits for the server to write
// its last checkpoint. A service manager's own limit must not be shorter.
const stopLimit = 120 * time.Second

// Options says which cluster is wanted and how it is run.
type Options struct {
	// Dir is the data folder; empty means [DefaultDir] of Name. It is made
	// when absent. Root's folder must be reachable for the server's own user.
	Dir string
	// Name tells clusters under the default folder apart; empty means
	// "registry". It is ignored when Dir is given.
	Name string
	// Log receives what is started, waited for and stopped; nil is silent.
	Log *slog.Logger
	// Unsynced trades crash safety for speed (no fsync). For tests only.
	Unsynced bool
	// Programs names a folder with postgres and initdb that is used instead
	// of searching the machine; empty searches.
	Programs string
}

// Lease is one process's hold on a running cluster. It is safe for use by
// several goroutines.
type Lease struct {
	c       *cluster
	server  running
	use     *flock
	release sync.Once
	err     error
}

// Acquire takes a lease on the cluster of o, making the cluster and starting
// its server as needed. It returns when the server accepts connections.
//
// While the process holds a lease, the PG* environment variables that would
// override or break a connection to the private server are unset in the
// process, except the password ones, which the socket does not ask for.
//
// The error says what stands in the way and, on a line that begins with
// "hint:", what to do about it. A cancelled ctx ends the waiting; a server
// that was just being started is stopped again.
func Acquire(ctx context.Context, o Options) (*Lease, error) {
	if runtime.GOOS != "linux" {
		return nil, fmt.Errorf("the private server needs Linux, this is %s%s", runtime.GOOS,
			hint("configure the address of a PostgreSQL server instead"))
	}
	if o.Log == nil {
		o.Log = slog.New(slog.DiscardHandler)
	}
	c, err := open(o)
	if err != nil {
		return nil, err
	}
	clearEnvironment()

	starting, err := openLock(filepath.Join(c.dir, "start.lock"))
	if err != nil {
		return nil, err
	}
	defer starting.close()
	if err := starting.wait(ctx, syscall.LOCK_EX); err != nil {
		return nil, fmt.Errorf("waiting for another process to start or stop the server of %s: %w", c.dir, err)
	}
	use, err := openLock(filepath.Join(c.dir, "use.lock"))
	if err != nil {
		return nil, err
	}
	if err := use.wait(ctx, syscall.LOCK_SH); err != nil {
		use.close()
		return nil, fmt.Errorf("taking a lease on %s: %w", c.dir, err)
	}
	server, err := c.ensure(ctx, use)
	if err != nil {
		use.close()
		return nil, err
	}
	return &Lease{c: c, server: server, use: use}, nil
}

// DSN returns the key=value connection string of database dbname, for the
// role [Owner]. It holds no secret.
func (l *Lease) DSN(dbname string) string {
	return fmt.Sprintf("host=%s port=%d user=%s dbname=%s sslmode=disable",
		quoteDSN(l.server.socketDir), l.server.port, Owner, quoteDSN(dbname))
}

// Dir returns the data folder.
func (l *Lease) Dir() string { return l.c.dir }

// Programs returns the folder of the server's own programs, whose version
// fits the cluster (pg_dump and psql usually lie there too).
func (l *Lease) Programs() string { return l.c.programs.dir }

// Started tells whether this lease started the server, rather than finding
// it running.
func (l *Lease) Started() bool { return l.server.started }

// Release gives the lease back and stops the server if it was the last one.
// Connections must be closed before. Later calls return the first result.
func (l *Lease) Release() error {
	l.release.Do(func() { l.err = l.giveBack() })
	return l.err
}

func (l *Lease) giveBack() error {
	ctx, cancel := context.WithTimeout(context.Background(), stopLimit)
	defer cancel()
	defer l.use.close()

	starting, err := openLock(filepath.Join(l.c.dir, "start.lock"))
	if err != nil {
		return err
	}
	defer starting.close()
	if err := starting.wait(ctx, syscall.LOCK_EX); err != nil {
		return fmt.Errorf("giving back the lease on %s: %w", l.c.dir, err)
	}
	alone, err := l.use.try(syscall.LOCK_EX)
	if err != nil || !alone {
		return err
	}
	return l.c.stop(ctx)
}

// clearEnvironment removes the variables that the driver would let win over,
// or refuse beside, the connection string: an inherited PGHOSTADDR sends it to
// another server, an inherited PGREQUIRESSL makes it give up.
func clearEnvironment() {
	for _, v := range os.Environ() {
		name, _, _ := strings.Cut(v, "=")
		if strings.HasPrefix(name, "PG") && name != "PGPASSWORD" && name != "PGPASSFILE" {
			_ = os.Unsetenv(name)
		}
	}
}

// quoteDSN quotes one value of a key=value connection string.
func quoteDSN(s string) string {
	return "'" + strings.NewReplacer(`\`, `\\`, `'`, `\'`).Replace(s) + "'"
}

// hint is the last line of an error: the remedy.
func hint(format string, args ...any) string {
	return "\nhint: " + fmt.Sprintf(format, args...)
}

// pause waits for d or until ctx ends.
func pause(ctx context.Context, d time.Duration) error {
	t := time.NewTimer(d)
	defer t.Stop()
	select {
	case <-ctx.Done():
		return context.Cause(ctx)
	case <-t.C:
		return nil
	}
}
