package registry

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"strings"
	"text/template"
	"time"

	"github.com/jmoiron/sqlx"
	"github.com/lib/pq"

	"chestrise/sql/queries"
)

// connections bounds the pool: one holds the run lock, the others read.
const connections = 6

// connect opens a pool whose sessions all speak the same dialect, whatever the
// server's or the environment's settings are.
func connect(config pq.Config) (*sqlx.DB, error) {
	config = config.Clone()
	if config.Runtime == nil {
		config.Runtime = map[string]string{}
	}
	config.Runtime["timezone"] = "UTC"
	config.Runtime["datestyle"] = "ISO, YMD"
	config.Runtime["search_path"] = "pg_catalog"
	// Compiling a projection of dozens of conditions costs more than it saves.
	config.Runtime["jit"] = "off"
	if config.ApplicationName == "" {
		config.ApplicationName = "chestrise"
	}
	connector, err := pq.NewConnectorConfig(config)
	if err != nil {
		return nil, fmt.Errorf("%w: the connection settings do not fit together", ErrUnreachable)
	}
	db := sqlx.NewDb(sql.OpenDB(connector), "postgres")
	db.SetMaxOpenConns(connections)
	db.SetConnMaxIdleTime(time.Minute)
	return db, nil
}

// createDatabase makes the database that config names, unless it is there. Text
// sorts by code point, so that reports do not depend on the server's language.
func createDatabase(ctx context.Context, config pq.Config) error {
	name := config.Database
	maintenance := config.Clone()
	maintenance.Database = "postgres"
	db, err := connect(maintenance)
	if err != nil {
		return err
	}
	defer func() { _ = db.Close() }()
	var there bool
	if err := db.GetContext(ctx, &there, queries.Text("database_there"), name); err != nil {
		return unreachable(maintenance, err)
	}
	if there {
		return nil
	}
	if _, err := db.ExecContext(ctx, fill(queries.Template("database_create"), pq.QuoteIdentifier(name))); err != nil {
		if state(err) == "42P04" || state(err) == "23505" { // another process was faster
			return nil
		}
		return fmt.Errorf("database %s could not be made: %w", name, err)
	}
	return nil
}

// fill executes a statement template over data of the program's own.
func fill(t *template.Template, data any) string {
	var b strings.Builder
	if err := t.Execute(&b, data); err != nil {
		panic(err) // a wrong template is a defect of the program
	}
	return b.String()
}

// unreachable says where the server was looked for, never how one logs in.
func unreachable(config pq.Config, err error) error {
	if errors.Is(err, context.Canceled) {
		return err
	}
	reason := "no answer"
	if p := pqError(err); p != nil {
		reason = p.Message
	} else if m := err.Error(); !strings.Contains(m, config.Password) || config.Password == "" {
		reason = m
	}
	return fmt.Errorf("%w: host %s port %d database %s: %s\nhint: is the server running, and may this user connect to it?",
		ErrUnreachable, config.Host, config.Port, config.Database, reason)
}

// pqError returns the server's error inside err, nil where there is none.
func pqError(err error) *pq.Error {
	if p, ok := errors.AsType[*pq.Error](err); ok {
		return p
	}
	return nil
}

// state returns the SQLSTATE of the server's error inside err.
func state(err error) string {
	if p := pqError(err); p != nil {
		return string(p.Code)
	}
	return ""
}

// readOnly is a transaction that sees one state of the data and changes nothing.
var readOnly = &sql.TxOptions{Isolation: sql.LevelRepeatableRead, ReadOnly: true}

// snapshot runs f in a read-only transaction that sees one state of the data.
func (r *Registry) snapshot(ctx context.Context, f func(*sqlx.Tx) error) error {
	tx, err := r.db.BeginTxx(ctx, readOnly)
	if err != nil {
		return fmt.Errorf("reading the registry: %w", err)
	}
	defer func() { _ = tx.Rollback() }()
	return f(tx)
}
