package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"os"

	"chestrise/etl"
	"chestrise/etl/derive"
	"chestrise/etl/record"
	"chestrise/sql/localpg"
	"chestrise/sql/registry"
)

// log writes to standard error: text on a terminal, JSON otherwise.
func (a *app) log() *slog.Logger {
	o := &slog.HandlerOptions{Level: slog.LevelWarn}
	if a.verbose {
		o.Level = slog.LevelInfo
	}
	if terminal(a.err) {
		return slog.New(slog.NewTextHandler(a.err, o))
	}
	return slog.New(slog.NewJSONHandler(a.err, o))
}

func terminal(w io.Writer) bool {
	f, ok := w.(*os.File)
	if !ok {
		return false
	}
	info, err := f.Stat()
	return err == nil && info.Mode()&os.ModeCharDevice != 0
}

// session is an open registry and, where it is the private one, the lease on
// its server.
type session struct {
	*registry.Registry
	lease *localpg.Lease
}

// open opens the registry of the configuration: the private server where no
// other is named. The private server's schema is brought up to this program;
// another server's only by the migrate command.
func (a *app) open(ctx context.Context, c *config) (*session, error) {
	s := &session{}
	dsn := c.Registry.DSN
	if dsn == "" {
		lease, err := localpg.Acquire(ctx, localpg.Options{Dir: c.rel(c.Registry.Folder), Name: c.Registry.Name, Log: a.log()})
		if err != nil {
			return nil, withCode(exitRegistry, err)
		}
		s.lease = lease
		dsn = lease.DSN(c.Registry.Database)
	}
	r, err := registry.Open(ctx, dsn, registry.Options{
		Log: a.log(), Now: a.now, Create: s.lease != nil, Derivation: derive.Version, Program: "chestrise " + version,
	})
	if err != nil {
		return nil, errors.Join(withCode(exitRegistry, err), s.release())
	}
	s.Registry = r
	if s.lease != nil {
		if _, err := r.Migrate(ctx); err != nil {
			return nil, errors.Join(withCode(exitRegistry, err), s.Close())
		}
	}
	if err := r.Ready(ctx); err != nil {
		return nil, errors.Join(withCode(exitRegistry, err), s.Close())
	}
	return s, nil
}

func (s *session) release() error {
	if s.lease == nil {
		return nil
	}
	return s.lease.Release()
}

// Close closes the registry and gives the server back.
func (s *session) Close() error { return errors.Join(s.Registry.Close(), s.release()) }

// intake is the registry as the etl sees it.
type intake struct{ *registry.Registry }

// Begin opens the transaction of a delivery.
func (i intake) Begin(ctx context.Context, d record.Delivery) (etl.Loading, error) {
	l, err := i.Registry.Begin(ctx, d)
	if err != nil {
		return nil, err
	}
	return l, nil
}

// running does work under the run lock and ends the run well or not.
func (a *app) running(ctx context.Context, s *session, work func() error) error {
	run, err := s.Lock(ctx)
	if err != nil {
		return err
	}
	err = work()
	// The run is ended also after an interruption, by a context of its own.
	if e := run.End(context.WithoutCancel(ctx), err == nil); e != nil {
		err = errors.Join(err, e)
	}
	return err
}

// with opens configuration and registry, does the work, and closes both.
func (a *app) with(ctx context.Context, work func(*config, *session) error) error {
	c, err := a.config()
	if err != nil {
		return err
	}
	s, err := a.open(ctx, c)
	if err != nil {
		return err
	}
	err = work(c, s)
	if e := s.Close(); e != nil {
		err = errors.Join(err, fmt.Errorf("closing the registry: %w", e))
	}
	return err
}
