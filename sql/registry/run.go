package registry

import (
	"context"
	"database/sql"
	"database/sql/driver"
	"errors"
	"fmt"
	"time"

	"github.com/jmoiron/sqlx"

	"chestrise/etl/record"
	"chestrise/sql/queries"
)

// runLock is the advisory lock of the run.
const runLock = 0x6368657374

// ErrNoRun says that something was to be written outside a run.
var ErrNoRun = errors.New("writing needs the run lock")

// Run is the right to write. It rests on one connection that holds an advisory
// lock and does all writing; if the connection is lost, so is the run.
type Run struct {
	r    *Registry
	no   int64
	conn *sqlx.Conn
	tx   *sqlx.Tx // the latest transaction; guarded by r.mu
}

// No returns the run's number in the ledger.
func (u *Run) No() int64 { return u.no }

// Lock takes the run lock and opens a run. It does not wait: the error wraps
// record.ErrLocked where another process holds the lock. A run that died without
// ending is marked superseded, and whatever is left of it cannot write any more.
func (r *Registry) Lock(ctx context.Context) (*Run, error) {
	if err := r.Ready(ctx); err != nil {
		return nil, err
	}
	r.mu.Lock()
	defer r.mu.Unlock()
	if r.run != nil {
		return nil, fmt.Errorf("%w: this process has it already", record.ErrLocked)
	}
	conn, err := r.db.Connx(ctx)
	if err != nil {
		return nil, fmt.Errorf("run lock: %w", err)
	}
	u := &Run{r: r, conn: conn}
	if err := u.begin(ctx); err != nil {
		u.drop()
		return nil, err
	}
	r.run = u
	return u, nil
}

func (u *Run) begin(ctx context.Context) error {
	var got bool
	if err := u.conn.GetContext(ctx, &got, queries.Text("run_lock"), runLock); err != nil {
		return fmt.Errorf("run lock: %w", err)
	}
	if !got {
		return u.r.lockedBy(ctx)
	}
	tx, err := u.conn.BeginTxx(ctx, nil)
	if err != nil {
		return fmt.Errorf("run: %w", err)
	}
	defer func() { _ = tx.Rollback() }()
	now := u.r.o.Now()
	var dead []int64
	if err := tx.SelectContext(ctx, &dead, queries.Text("run_supersede"), now); err != nil {
		return fmt.Errorf("run: %w", err)
	}
	if err := tx.GetContext(ctx, &u.no, queries.Text("run_start"), u.r.o.Program, now); err != nil {
		return fmt.Errorf("run: %w", err)
	}
	if err := tx.Commit(); err != nil {
		return fmt.Errorf("run: %w", err)
	}
	u.tx = tx
	for _, no := range dead {
		u.r.o.Log.Warn("an earlier run ended without saying so", "run", no, "superseded_by", u.no)
	}
	return u.probe(ctx)
}

func (r *Registry) lockedBy(ctx context.Context) error {
	var h struct {
		No        int64     `db:"no"`
		Program   string    `db:"program"`
		StartedAt time.Time `db:"started_at"`
	}
	if err := r.db.GetContext(ctx, &h, queries.Text("run_holder")); err != nil {
		return record.ErrLocked
	}
	return fmt.Errorf("%w: run %d, since %s\nhint: wait for it to end", record.ErrLocked, h.No, h.StartedAt.UTC().Format(time.RFC3339))
}

// End ends the run and gives the lock back. Later calls do nothing.
func (u *Run) End(ctx context.Context, well bool) error {
	u.r.mu.Lock()
	defer u.r.mu.Unlock()
	if u.r.run != u {
		return nil
	}
	u.r.run = nil
	defer u.drop()
	u.abandon()
	outcome := "failed"
	if well {
		outcome = "done"
	}
	if _, err := u.conn.ExecContext(ctx, queries.Text("run_end"), u.no, outcome, u.r.o.Now()); err != nil {
		return fmt.Errorf("ending run %d: %w", u.no, err)
	}
	return nil
}

// abandon rolls back what is still open: a delivery that was neither committed
// nor refused.
func (u *Run) abandon() {
	if u.tx != nil {
		_ = u.tx.Rollback()
	}
}

// unlockLimit bounds how long giving the lock back may take.
const unlockLimit = 5 * time.Second

// drop gives the connection up. It is closed for good rather than returned to
// the pool, so that the lock ends with it whatever state it is in. The server
// notices a closed connection only a moment later: the lock is given back
// before, where the connection still answers, for the run that comes next.
func (u *Run) drop() {
	ctx, cancel := context.WithTimeout(context.Background(), unlockLimit)
	defer cancel()
	_, _ = u.conn.ExecContext(ctx, queries.Text("run_unlock"), runLock)
	_ = u.conn.Raw(func(any) error { return driver.ErrBadConn })
	_ = u.conn.Close()
}

// begin opens a writing transaction of the current run, checked to be still the
// one that is running.
func (r *Registry) begin(ctx context.Context) (*sqlx.Tx, *Run, error) {
	r.mu.Lock()
	u := r.run
	r.mu.Unlock()
	if u == nil {
		return nil, nil, ErrNoRun
	}
	tx, err := u.conn.BeginTxx(ctx, nil)
	if err != nil {
		return nil, nil, u.lost(ctx, err)
	}
	var is string
	if err := tx.GetContext(ctx, &is, queries.Text("run_fence"), u.no); err != nil {
		_ = tx.Rollback()
		return nil, nil, u.lost(ctx, err)
	}
	if is != "running" {
		_ = tx.Rollback()
		return nil, nil, fmt.Errorf("run %d: %w", u.no, record.ErrSuperseded)
	}
	r.mu.Lock()
	defer r.mu.Unlock()
	u.tx = tx
	return tx, u, nil
}

// write runs f in a writing transaction of the current run and commits it.
func (r *Registry) write(ctx context.Context, f func(*sqlx.Tx, *Run) error) error {
	tx, u, err := r.begin(ctx)
	if err != nil {
		return err
	}
	defer func() { _ = tx.Rollback() }()
	if err := f(tx, u); err != nil {
		return err
	}
	if err := tx.Commit(); err != nil {
		return u.lost(ctx, err)
	}
	return nil
}

// lost explains an error of the run's connection: where the connection is gone
// and another run has taken over, that is the reason.
func (u *Run) lost(ctx context.Context, err error) error {
	if pqError(err) != nil && state(err) != "57P01" || errors.Is(err, context.Canceled) {
		return fmt.Errorf("run %d: %w", u.no, err)
	}
	var is string
	if u.r.db.GetContext(ctx, &is, queries.Text("run_fence"), u.no) == nil && is != "running" {
		return fmt.Errorf("run %d: %w", u.no, record.ErrSuperseded)
	}
	if errors.Is(err, driver.ErrBadConn) || errors.Is(err, sql.ErrConnDone) {
		return fmt.Errorf("run %d lost its connection, and with it the run lock: %w", u.no, err)
	}
	return fmt.Errorf("run %d: %w", u.no, err)
}
