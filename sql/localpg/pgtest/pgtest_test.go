package pgtest_test

import (
	"database/sql"
	"os"
	"testing"

	_ "github.com/lib/pq"
	"github.com/stretchr/testify/require"

	"chestrise/sql/localpg/pgtest"
)

func TestMain(m *testing.M) { os.Exit(pgtest.Main(m)) }

func open(t *testing.T, dsn string) *sql.DB {
	t.Helper()
	db, err := sql.Open("postgres", dsn)
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, db.Close()) })
	return db
}

func TestEachTestHasItsOwnEmptyDatabase(t *testing.T) {
	names := map[string]bool{}
	for range 2 {
		db := open(t, pgtest.DSN(t))
		var name string
		require.NoError(t, db.QueryRow("select current_database()").Scan(&name))
		require.False(t, names[name])
		names[name] = true
		_, err := db.Exec("create table same_name (n int)")
		require.NoError(t, err)
	}
}

func TestADatabaseIsDroppedAfterItsTest(t *testing.T) {
	var name string
	t.Run("inner", func(t *testing.T) {
		db := open(t, pgtest.DSN(t))
		require.NoError(t, db.QueryRow("select current_database()").Scan(&name))
	})
	var n int
	db := open(t, pgtest.DSN(t))
	require.NoError(t, db.QueryRow("select count(*) from pg_database where datname = $1", name).Scan(&n))
	require.Zero(t, n)
}

func TestATemplateIsBuiltOnceAndCopied(t *testing.T) {
	dir := t.TempDir()
	built := 0
	build := func(dsn string) error {
		built++
		db, err := sql.Open("postgres", dsn)
		if err != nil {
			return err
		}
		defer func() { _ = db.Close() }()
		_, err = db.Exec("create table content as select 7 as n")
		return err
	}
	for range 3 {
		db := open(t, pgtest.FromTemplate(t, dir, build)) // the folder's name is new in every run
		var n int
		require.NoError(t, db.QueryRow("select n from content").Scan(&n))
		require.Equal(t, 7, n)
		_, err := db.Exec("drop table content") // a copy: the next one is whole again
		require.NoError(t, err)
	}
	require.Equal(t, 1, built)
}
