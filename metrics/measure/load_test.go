package measure

import (
	"os"
	"testing"

	"github.com/stretchr/testify/require"
)

func catalogue(t *testing.T) Catalogue {
	t.Helper()
	c, err := Load(os.DirFS("../.."), "", "configs/measures", "testdata/measures")
	require.NoError(t, err)
	return c
}

func TestCatalogueLoads(t *testing.T) {
	c := catalogue(t)
	require.Len(t, c.Measures, 8)
}
