package workbook_test

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"os"
	"os/exec"
	"testing"

	"github.com/stretchr/testify/require"
)

func digest(t *testing.T) string {
	t.Helper()
	d, s := sample()
	sum := sha256.Sum256(render(t, d, s))
	return hex.EncodeToString(sum[:])
}

func TestSameDocumentSameBytes(t *testing.T) {
	want := digest(t)
	for range 8 {
		require.Equal(t, want, digest(t))
	}
	docs := documents()
	for _, name := range []string{"empty", "odd tables", "nasty words", "colliding sheets"} {
		_, s := sample()
		require.Equal(t, render(t, docs[name], s), render(t, docs[name], s), name)
	}
}

// Another process has other map orders and another time of the day.
func TestSameBytesInAnotherProcess(t *testing.T) {
	const ask = "WORKBOOK_TEST_DIGEST"
	if os.Getenv(ask) != "" {
		fmt.Println("digest", digest(t))
		return
	}
	want := fmt.Sprintf("digest %s\n", digest(t))
	for range 2 {
		cmd := exec.Command(os.Args[0], "-test.run=^TestSameBytesInAnotherProcess$", "-test.v")
		cmd.Env = append(os.Environ(), ask+"=1", "TZ=Pacific/Auckland", "LC_ALL=de_AT.UTF-8")
		out, err := cmd.Output()
		require.NoError(t, err)
		require.Contains(t, string(out), want)
	}
}

func TestRenderingLeavesTheDocumentAlone(t *testing.T) {
	d, s := sample()
	render(t, d, s)
	again, _ := sample()
	require.Equal(t, again, d)
}
