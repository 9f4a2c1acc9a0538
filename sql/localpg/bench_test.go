package localpg

import (
	"os"
	"testing"

	"github.com/stretchr/testify/require"
)

func benchFolder(b *testing.B) string {
	b.Helper()
	dir, err := os.MkdirTemp("/tmp", "localpg-")
	require.NoError(b, err)
	require.NoError(b, os.Chmod(dir, 0o711))
	b.Cleanup(func() { require.NoError(b, os.RemoveAll(dir)) })
	return dir
}

// BenchmarkFirstLease makes a cluster, starts its server and stops it.
func BenchmarkFirstLease(b *testing.B) {
	for b.Loop() {
		lease, err := Acquire(b.Context(), Options{Dir: benchFolder(b)})
		require.NoError(b, err)
		require.NoError(b, lease.Release())
	}
}

// BenchmarkOnlyLease starts and stops the server of an existing cluster.
func BenchmarkOnlyLease(b *testing.B) {
	dir := benchFolder(b)
	for b.Loop() {
		lease, err := Acquire(b.Context(), Options{Dir: dir})
		require.NoError(b, err)
		require.NoError(b, lease.Release())
	}
}

// BenchmarkFurtherLease joins a server that is up.
func BenchmarkFurtherLease(b *testing.B) {
	dir := benchFolder(b)
	first, err := Acquire(b.Context(), Options{Dir: dir})
	require.NoError(b, err)
	for b.Loop() {
		lease, err := Acquire(b.Context(), Options{Dir: dir})
		require.NoError(b, err)
		require.NoError(b, lease.Release())
	}
	require.NoError(b, first.Release())
}
