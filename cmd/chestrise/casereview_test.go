package main

import (
	"testing"

	"github.com/stretchr/testify/require"
)

// What is typed by mistake, such as a record number, comes back in no message.
func TestACaseThatIsNoKeyIsNotRepeated(t *testing.T) {
	path, _ := configured(t, minimal+"case_review: ROOT/configs/casereview.yaml\n")
	r := call(t, "report", "case-review", "--config", path, "--unit", "alder", "--from", "2026-08", "--to", "2026-10", "--case", "MRN-0042")
	require.Equal(t, exitUsage, r.code, r.err)
	require.Contains(t, r.err, "hint: a key is a random UUID")
	require.NotContains(t, r.out+r.err, "MRN-0042")
}
