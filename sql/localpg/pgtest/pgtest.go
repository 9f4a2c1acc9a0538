// Package pgtest gives tests databases of their own on a private PostgreSQL
// server. Only tests import it.
//
// The server is one for all packages: that of the folder in the environment
// variable CHESTRISE_TEST_PG, which `make test` sets while it holds a lease,
// so that the server starts once for the whole run; else that of a folder
// under the temporary one, started by the first test that asks and stopped
// after the last. A package with many such tests calls [Main] from its
// TestMain to keep the server up between them.
//
// A machine without a server is a failed test, never a skipped one.
package pgtest

import (
	"context"
	"crypto/sha256"
	"database/sql"
	"encoding/hex"
	"fmt"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/lib/pq"

	"chestrise/sql/localpg"
)

// Variable is the environment variable that names the test cluster's folder.
const Variable = "CHESTRISE_TEST_PG"

// limit bounds every single step here; a hanging server fails the test.
const limit = 2 * time.Minute

// shared is the process's one lease, counted by its users.
var shared struct {
	sync.Mutex
	users  int
	lease  *localpg.Lease
	serial int // names the next database
}

// templates known to be complete; its lock is held while one is built.
var templates struct {
	sync.Mutex
	complete map[string]bool
}

// DSN returns the connection string of a new empty database, which is dropped
// when the test ends. The role is the cluster's owner.
func DSN(t testing.TB) string {
	t.Helper()
	return create(t, "template0")
}

// FromTemplate is [DSN] with the content that build makes. The content is
// built once for each name, whichever process comes first, and then copied;
// so name must change with the content (put a digest of it into the name).
// build gets the connection string of the database to fill, and must close
// its connections.
func FromTemplate(t testing.TB, name string, build func(dsn string) error) string {
	t.Helper()
	lease := use(t)
	sum := sha256.Sum256([]byte(name))
	template := "template_" + hex.EncodeToString(sum[:8])
	if err := ensureTemplate(lease, template, build); err != nil {
		t.Fatalf("database template %s: %v", name, err)
	}
	return create(t, template)
}

// Main runs a package's tests with the server kept up in between, and
// returns the exit code: func TestMain(m *testing.M) { os.Exit(pgtest.Main(m)) }.
func Main(m *testing.M) int {
	if _, err := acquire(); err != nil {
		fmt.Fprintln(os.Stderr, "test database:", err)
		return 1
	}
	code := m.Run()
	if err := giveBack(); err != nil {
		fmt.Fprintln(os.Stderr, "test database:", err)
		return 1
	}
	return code
}

// Dir returns the folder of the test cluster.
func Dir() string {
	if dir := os.Getenv(Variable); dir != "" {
		return dir
	}
	return filepath.Join(os.TempDir(), "chestrise-test-"+strconv.Itoa(os.Getuid()))
}

// Acquire takes a lease on the test cluster for the calling process.
func Acquire(ctx context.Context) (*localpg.Lease, error) {
	return localpg.Acquire(ctx, localpg.Options{Dir: Dir(), Name: "", Log: nil, Unsynced: true, Programs: ""})
}

// use counts the test in as a user of the lease until it ends.
func use(t testing.TB) *localpg.Lease {
	t.Helper()
	lease, err := acquire()
	if err != nil {
		t.Fatalf("test database: %v", err)
	}
	t.Cleanup(func() {
		if err := giveBack(); err != nil {
			t.Errorf("test database: %v", err)
		}
	})
	return lease
}

func acquire() (*localpg.Lease, error) {
	shared.Lock()
	defer shared.Unlock()
	if shared.lease == nil {
		ctx, cancel := context.WithTimeout(context.Background(), limit)
		defer cancel()
		lease, err := Acquire(ctx)
		if err != nil {
			if _, gone := os.Stat(filepath.Join(Dir(), "data")); gone == nil {
				err = fmt.Errorf("%w\nhint: make clean removes the tests' cluster, which is not safe against crashes", err)
			}
			return nil, err
		}
		shared.lease = lease
		if err := sweep(lease); err != nil {
			return nil, err
		}
	}
	shared.users++
	return shared.lease, nil
}

func giveBack() error {
	shared.Lock()
	defer shared.Unlock()
	shared.users--
	if shared.users > 0 {
		return nil
	}
	lease := shared.lease
	shared.lease = nil
	return lease.Release()
}

// create makes a database from template and drops it when the test ends.
func create(t testing.TB, template string) string {
	t.Helper()
	lease := use(t)
	shared.Lock()
	shared.serial++
	name := fmt.Sprintf("test_%d_%d", os.Getpid(), shared.serial)
	shared.Unlock()
	err := administer(lease, func(ctx context.Context, conn *sql.Conn) error {
		return run(ctx, conn, "create database %s template %s strategy file_copy", name, template)
	})
	if err != nil {
		t.Fatalf("creating a test database: %v", err)
	}
	t.Cleanup(func() {
		err := administer(lease, func(ctx context.Context, conn *sql.Conn) error {
			return run(ctx, conn, "drop database if exists %s with (force)", name)
		})
		if err != nil {
			t.Errorf("dropping a test database: %v", err)
		}
	})
	return lease.DSN(name)
}

// ensureTemplate builds the template database unless it is there. It is built
// under another name and renamed, so that an interrupted build is done again.
func ensureTemplate(lease *localpg.Lease, template string, build func(dsn string) error) error {
	templates.Lock()
	defer templates.Unlock()
	if templates.complete[template] {
		return nil
	}
	err := administer(lease, func(ctx context.Context, conn *sql.Conn) error {
		// One builder at a time; the lock ends with the connection.
		if _, err := conn.ExecContext(ctx, "select pg_advisory_lock(hashtext($1))", template); err != nil {
			return err
		}
		var there bool
		const find = "select exists (select from pg_database where datname = $1)"
		if err := conn.QueryRowContext(ctx, find, template).Scan(&there); err != nil || there {
			return err
		}
		raw := template + "_unfinished"
		if err := run(ctx, conn, "drop database if exists %s with (force)", raw); err != nil {
			return err
		}
		if err := run(ctx, conn, "create database %s template template0 strategy file_copy", raw); err != nil {
			return err
		}
		if err := build(lease.DSN(raw)); err != nil {
			return err
		}
		return run(ctx, conn, "alter database %s rename to %s", raw, template)
	})
	if err != nil {
		return err
	}
	if templates.complete == nil {
		templates.complete = map[string]bool{}
	}
	templates.complete[template] = true
	return nil
}

// sweep drops the databases of test processes that were killed.
func sweep(lease *localpg.Lease) error {
	return administer(lease, func(ctx context.Context, conn *sql.Conn) error {
		var names []string
		const find = `select coalesce(array_agg(datname::text), '{}') from pg_database where datname ~ '^test_\d+_\d+$'`
		if err := conn.QueryRowContext(ctx, find).Scan((*pq.StringArray)(&names)); err != nil {
			return err
		}
		for _, name := range names {
			pid := strings.Split(name, "_")[1]
			if _, err := os.Stat("/proc/" + pid); err == nil {
				continue
			}
			if err := run(ctx, conn, "drop database if exists %s with (force)", name); err != nil {
				return err
			}
		}
		return nil
	})
}

// administer runs f on one connection to the database postgres.
func administer(lease *localpg.Lease, f func(context.Context, *sql.Conn) error) error {
	ctx, cancel := context.WithTimeout(context.Background(), limit)
	defer cancel()
	db, err := sql.Open("postgres", lease.DSN("postgres"))
	if err != nil {
		return err
	}
	defer func() { _ = db.Close() }()
	conn, err := db.Conn(ctx)
	if err != nil {
		return err
	}
	defer func() { _ = conn.Close() }()
	return f(ctx, conn)
}

// run executes a statement about databases, whose names take no parameters.
func run(ctx context.Context, conn *sql.Conn, statement string, names ...any) error {
	for i, n := range names {
		names[i] = pq.QuoteIdentifier(fmt.Sprint(n))
	}
	_, err := conn.ExecContext(ctx, fmt.Sprintf(statement, names...))
	return err
}
