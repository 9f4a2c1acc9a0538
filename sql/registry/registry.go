// Package registry keeps the registry in PostgreSQL: the documents and facts in
// every version they ever had, the ledger of deliveries, the cells and
// baselines of the measures, and the archive of issued reports. It is the only
// package that speaks to that database.
//
// A [Registry] reads from many goroutines. All writing is done by one run at a
// time, see [Registry.Lock]. Every change of the data takes a new generation,
// and every read can be made as of an earlier one.
package registry

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"sync"
	"time"

	"github.com/jmoiron/sqlx"
	"github.com/lib/pq"

	"chestrise/etl/record"
	"chestrise/sql/queries"
)

// DefaultRolePrefix begins the names of the registry's roles where nothing else
// is configured.
const DefaultRolePrefix = "chestrise_"

// ErrUnreachable says that no connection to the registry's server could be made.
var ErrUnreachable = errors.New("the registry is unreachable")

// Options says how a registry is opened.
type Options struct {
	// Log receives what is worth knowing at night; nil is silent.
	Log *slog.Logger
	// Now is the clock of the run rows. It decides nothing.
	Now func() time.Time
	// Create makes the database where it does not exist, for a server of our own.
	Create bool
	// RolePrefix begins the names of the roles; empty means DefaultRolePrefix.
	RolePrefix string
	// Derivation is the version of the derivation of facts of this program; it
	// is written beside every fact.
	Derivation int16
	// Program is the program's name and version, written into the run row.
	Program string
}

// Registry is an open registry. It is safe for use by several goroutines.
type Registry struct {
	db   *sqlx.DB
	o    Options
	role string // reader role to change to for conditions; empty: none is held

	mu  sync.Mutex
	run *Run // the run lock, while held
	raw bool // the driver takes blocks of COPY data
}

// Open connects to the registry's database and returns without looking at its
// schema: see [Registry.Ready] and [Registry.Migrate]. The error wraps
// ErrUnreachable where the server does not answer. No error shows the dsn.
func Open(ctx context.Context, dsn string, o Options) (*Registry, error) {
	if o.Log == nil {
		o.Log = slog.New(slog.DiscardHandler)
	}
	if o.Now == nil {
		return nil, errors.New("opening the registry: no clock was given")
	}
	if o.RolePrefix == "" {
		o.RolePrefix = DefaultRolePrefix
	}
	config, err := pq.NewConfig(dsn)
	if err != nil {
		// The driver's message may quote the string, and with it a password.
		return nil, fmt.Errorf("%w: the connection string cannot be read\nhint: key=value pairs or postgres://, see the PostgreSQL manual on connection strings", ErrUnreachable)
	}
	if o.Create {
		if err := createDatabase(ctx, config); err != nil {
			return nil, err
		}
	}
	db, err := connect(config)
	if err != nil {
		return nil, err
	}
	r := &Registry{db: db, o: o}
	if err := db.PingContext(ctx); err != nil {
		_ = db.Close()
		return nil, unreachable(config, err)
	}
	if err := r.findReader(ctx); err != nil {
		_ = db.Close()
		return nil, err
	}
	return r, nil
}

// Close closes every connection. A run that is still held ends as failed.
func (r *Registry) Close() error {
	r.mu.Lock()
	run := r.run
	r.mu.Unlock()
	if run != nil {
		ctx, cancel := context.WithTimeout(context.Background(), 10*time.Second)
		defer cancel()
		if err := run.End(ctx, false); err != nil {
			r.o.Log.Warn("run could not be ended", "error", err.Error())
		}
	}
	return r.db.Close()
}

// Generation returns the current generation; 0 is an empty registry.
func (r *Registry) Generation(ctx context.Context) (record.Generation, error) {
	var g record.Generation
	if err := r.db.GetContext(ctx, &g, queries.Text("generation")); err != nil {
		return 0, fmt.Errorf("generation: %w", err)
	}
	return g, nil
}

// findReader learns whether the session may change to the reader role.
func (r *Registry) findReader(ctx context.Context) error {
	var held []string
	if err := r.db.SelectContext(ctx, &held, queries.Text("roles_held"), r.o.RolePrefix+"reader"); err != nil {
		return fmt.Errorf("roles: %w", err)
	}
	r.role = ""
	if len(held) == 1 {
		r.role = held[0]
	}
	return nil
}
