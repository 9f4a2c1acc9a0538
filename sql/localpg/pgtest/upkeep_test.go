package pgtest

import (
	"context"
	"database/sql"
	"errors"
	"os"
	"os/exec"
	"strconv"
	"testing"

	"github.com/stretchr/testify/require"
)

func databases(t *testing.T) []string {
	t.Helper()
	var names []string
	err := administer(use(t), func(ctx context.Context, conn *sql.Conn) error {
		rows, err := conn.QueryContext(ctx, "select datname from pg_database")
		if err != nil {
			return err
		}
		defer func() { _ = rows.Close() }()
		for rows.Next() {
			var name string
			if err := rows.Scan(&name); err != nil {
				return err
			}
			names = append(names, name)
		}
		return rows.Err()
	})
	require.NoError(t, err)
	return names
}

func TestWhatKilledTestsLeftIsSweptUp(t *testing.T) {
	ended := exec.Command("true") // its number is free again
	require.NoError(t, ended.Run())
	left := "test_" + strconv.Itoa(ended.Process.Pid) + "_1"
	lease := use(t)
	mine := create(t, "template0")
	require.NoError(t, administer(lease, func(ctx context.Context, conn *sql.Conn) error {
		return run(ctx, conn, "create database %s", left)
	}))
	require.Contains(t, databases(t), left)
	require.NoError(t, sweep(lease))
	require.NotContains(t, databases(t), left)

	db, err := sql.Open("postgres", mine)
	require.NoError(t, err)
	require.NoError(t, db.Ping(), "that of a living process stays")
	require.NoError(t, db.Close())
}

func TestAFailedTemplateIsBuiltAgain(t *testing.T) {
	lease := use(t)
	name := "template_try_" + strconv.Itoa(os.Getpid())
	fault := errors.New("half way")
	err := ensureTemplate(lease, name, func(dsn string) error {
		db, err := sql.Open("postgres", dsn)
		if err != nil {
			return err
		}
		defer func() { _ = db.Close() }()
		if _, err := db.Exec("create table half (n int)"); err != nil {
			return err
		}
		return fault
	})
	require.ErrorIs(t, err, fault)
	require.NotContains(t, databases(t), name)

	built := false
	require.NoError(t, ensureTemplate(lease, name, func(dsn string) error {
		db, err := sql.Open("postgres", dsn)
		if err != nil {
			return err
		}
		defer func() { _ = db.Close() }()
		_, err = db.Exec("create table half (n int)") // nothing is there of the first attempt
		built = err == nil
		return err
	}))
	require.True(t, built)
	require.NoError(t, administer(lease, func(ctx context.Context, conn *sql.Conn) error {
		return run(ctx, conn, "drop database %s", name)
	}))
}
