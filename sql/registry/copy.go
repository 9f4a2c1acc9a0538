package registry

import (
	"bytes"
	"context"
	"database/sql/driver"
	"errors"
	"fmt"

	"github.com/jmoiron/sqlx"

	"chestrise/sql/queries"
)

// block is how much COPY data goes to the server at once.
const block = 60 << 10

// blocks is the driver's door for COPY data that is encoded already. The driver
// exports the method on a type that it does not export and documents it
// nowhere, so it may go: see [Run.probe].
type blocks interface {
	CopyData(ctx context.Context, data string) (driver.Result, error)
}

// errNoBlocks: the driver no longer takes blocks.
var errNoBlocks = errors.New("the driver takes no blocks of COPY data")

// copy sends the rows of l to the statement `copy ... from stdin`, inside the
// open transaction of the run's connection, and empties l. The number of rows
// that the server took must be the number that was sent.
func (u *Run) copy(ctx context.Context, statement string, l *line) error {
	if l.rows == 0 {
		return nil
	}
	var got int64
	err := inside(u.conn, func(c any) error {
		var err error
		got, err = stream(ctx, c, statement, l.buf, u.r.raw)
		return err
	})
	if err != nil {
		return fmt.Errorf("copying %d rows: %w", l.rows, err)
	}
	if got != l.rows {
		return fmt.Errorf("copying rows: %d were sent and %d arrived", l.rows, got)
	}
	l.reset()
	return nil
}

// inside runs f over the driver's connection of conn. The standard library hangs
// where f says within a transaction that the connection is bad, so it is not
// told; the next statement tells it.
func inside(conn *sqlx.Conn, f func(c any) error) error {
	var err error
	if raw := conn.Raw(func(c any) error {
		err = f(c)
		return nil
	}); raw != nil {
		return raw
	}
	return err
}

// stream copies encoded rows over a driver connection and returns the number
// that the server took. raw asks for blocks; otherwise values go one by one.
func stream(ctx context.Context, c any, statement string, rows []byte, raw bool) (n int64, err error) {
	prepared, err := c.(driver.ConnPrepareContext).PrepareContext(ctx, statement)
	if err != nil {
		return 0, err
	}
	defer func() {
		if closed := prepared.Close(); err == nil {
			err = closed
		}
	}()
	if raw {
		to, ok := prepared.(blocks)
		if !ok {
			return 0, errNoBlocks
		}
		err = sendBlocks(ctx, to, rows)
	} else {
		err = sendRows(prepared, rows)
	}
	if err != nil {
		return 0, err
	}
	// Errors of the data come no earlier than here.
	result, err := prepared.Exec(nil) //nolint:staticcheck // the driver's COPY statement has no ExecContext
	if err != nil {
		return 0, err
	}
	return result.RowsAffected()
}

// sendBlocks cuts after a row, without its newline: the driver adds one.
func sendBlocks(ctx context.Context, to blocks, rows []byte) error {
	for len(rows) > 0 {
		if err := ctx.Err(); err != nil {
			return err
		}
		cut := len(rows)
		if cut > block {
			if at := bytes.LastIndexByte(rows[:block], '\n'); at >= 0 {
				cut = at + 1
			} else {
				cut = bytes.IndexByte(rows, '\n') + 1
			}
		}
		if _, err := to.CopyData(context.WithoutCancel(ctx), string(rows[:cut-1])); err != nil {
			return err
		}
		rows = rows[cut:]
	}
	return nil
}

func sendRows(to driver.Stmt, rows []byte) error {
	for row := range bytes.SplitSeq(bytes.TrimSuffix(rows, []byte("\n")), []byte("\n")) {
		cells := split(row)
		values := make([]driver.Value, len(cells))
		for i, c := range cells {
			values[i] = c
		}
		if _, err := to.Exec(values); err != nil { //nolint:staticcheck // as above
			return err
		}
	}
	return nil
}

// probe copies two rows to learn whether the driver takes blocks, and falls
// back to sending values one by one.
func (u *Run) probe(ctx context.Context) error {
	l := line{fresh: true}
	for _, s := range []string{"a\tb", `\.`} {
		l.text(s)
		l.end()
	}
	for _, raw := range []bool{true, false} {
		n, err := u.try(ctx, &l, raw)
		if err == nil && n == l.rows {
			u.r.raw = raw
			return nil
		}
		if !raw {
			return fmt.Errorf("COPY does not work with this driver: %d of %d rows: %w", n, l.rows, err)
		}
		u.r.o.Log.Warn("the driver takes no blocks of COPY data, loading will be slow")
	}
	return nil
}

func (u *Run) try(ctx context.Context, l *line, raw bool) (n int64, err error) {
	tx, err := u.conn.BeginTxx(ctx, nil)
	if err != nil {
		return 0, err
	}
	defer func() { _ = tx.Rollback() }()
	if _, err := tx.ExecContext(ctx, queries.Text("copy_probe")); err != nil {
		return 0, err
	}
	err = inside(u.conn, func(c any) error {
		var err error
		n, err = stream(ctx, c, queries.Text("copy_probe_rows"), l.buf, raw)
		return err
	})
	return n, err
}
