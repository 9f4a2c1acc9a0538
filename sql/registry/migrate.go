package registry

import (
	"context"
	"errors"
	"fmt"
	"time"

	"github.com/pressly/goose/v3"

	"chestrise/etl/record"
	"chestrise/sql/migrations"
	"chestrise/sql/queries"
)

// schemaLock keeps two programs from changing the schema at the same time.
const schemaLock = 0x6368657374 + 1

// Ready checks that the schema is the one this program was written for. The
// error wraps record.ErrSchemaBehind where migrations are missing.
func (r *Registry) Ready(ctx context.Context) error {
	var there bool
	if err := r.db.GetContext(ctx, &there, queries.Text("schema_there")); err != nil {
		return fmt.Errorf("schema: %w", err)
	}
	var have int64
	if there {
		if err := r.db.GetContext(ctx, &have, queries.Text("schema_version")); err != nil {
			return fmt.Errorf("schema version: %w", err)
		}
	}
	want := r.latest()
	switch {
	case have < want:
		return fmt.Errorf("%w: it has step %d of %d\nhint: chestrise migrate", record.ErrSchemaBehind, have, want)
	case have > want:
		return fmt.Errorf("the registry's schema has step %d, this program knows %d\nhint: a newer program migrated it; use that one", have, want)
	}
	return nil
}

func (r *Registry) latest() int64 {
	p, err := r.provider()
	if err != nil {
		return 0
	}
	var n int64
	for _, s := range p.ListSources() {
		n = max(n, s.Version)
	}
	return n
}

func (r *Registry) provider() (*goose.Provider, error) {
	p, err := goose.NewProvider(goose.DialectPostgres, r.db.DB, migrations.FS, goose.WithTableName("public.schema_version"))
	if err != nil {
		return nil, fmt.Errorf("migrations: %w", err)
	}
	return p, nil
}

// Migrate brings the schema to this program's step and returns the names of the
// steps that were taken. Where the session may make roles it makes them;
// elsewhere a database administrator runs the statements of
// [migrations.Roles]. It waits for another program that is migrating.
func (r *Registry) Migrate(ctx context.Context) ([]string, error) {
	return r.migrate(ctx, func(p *goose.Provider) ([]*goose.MigrationResult, error) { return p.Up(ctx) }, true)
}

// Unmake takes every step back. It destroys all data.
func (r *Registry) Unmake(ctx context.Context) error {
	_, err := r.migrate(ctx, func(p *goose.Provider) ([]*goose.MigrationResult, error) { return p.DownTo(ctx, 0) }, false)
	return err
}

func (r *Registry) migrate(ctx context.Context, step func(*goose.Provider) ([]*goose.MigrationResult, error), roles bool) ([]string, error) {
	conn, err := r.db.Connx(ctx)
	if err != nil {
		return nil, fmt.Errorf("migrating: %w", err)
	}
	defer func() { _ = conn.Close() }()
	if _, err := conn.ExecContext(ctx, queries.Text("schema_lock"), schemaLock); err != nil {
		return nil, fmt.Errorf("migrating: %w", err)
	}
	defer func() { _, _ = conn.ExecContext(context.WithoutCancel(ctx), queries.Text("run_unlock"), schemaLock) }()
	p, err := r.provider()
	if err != nil {
		return nil, err
	}
	results, err := step(p)
	if err != nil {
		var partial *goose.PartialError
		if errors.As(err, &partial) && partial.Failed != nil {
			return nil, fmt.Errorf("migration %s: %w", partial.Failed.Source.Path, partial.Err)
		}
		return nil, fmt.Errorf("migrating: %w", err)
	}
	taken := make([]string, 0, len(results))
	for _, m := range results {
		taken = append(taken, m.Source.Path)
		r.o.Log.Info("migration applied", "step", m.Source.Path, "direction", m.Direction)
	}
	if !roles {
		return taken, nil
	}
	if err := r.makeRoles(ctx); err != nil {
		return taken, err
	}
	return taken, r.findReader(ctx)
}

// makeRoles makes the roles where the session may. Roles belong to the whole
// server, so two databases that are migrated at once get in each other's way:
// the loser tries again.
func (r *Registry) makeRoles(ctx context.Context) error {
	sql, err := migrations.Roles(r.o.RolePrefix)
	if err != nil {
		return err
	}
	for attempt := 1; ; attempt++ {
		_, err = r.db.ExecContext(ctx, sql)
		switch s := state(err); {
		case err == nil:
			return nil
		case s == "42501": // insufficient privilege: the administrator's job
			r.o.Log.Warn("roles were not made, this user may not make them", "hint", "chestrise migrate --roles prints the statements for a database administrator")
			return nil
		case attempt < 20 && (s == "XX000" || s == "23505" || s == "42710" || s == "40001" || s == "40P01"):
			select {
			case <-ctx.Done():
				return ctx.Err()
			case <-time.After(time.Duration(attempt) * 20 * time.Millisecond):
			}
		default:
			return fmt.Errorf("roles: %w", err)
		}
	}
}
