package measure

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/require"

	"chestrise/metrics/cell"
)

func catalogue(t *testing.T) Catalogue {
	t.Helper()
	c, err := Load(os.DirFS("../.."), "", "configs/measures", "testdata/measures")
	require.NoError(t, err)
	return c
}

func TestCatalogueLoads(t *testing.T) {
	c := catalogue(t)
	var ids []string
	for _, d := range c.Measures {
		ids = append(ids, d.ID)
	}
	require.Subset(t, ids, []string{
		"ventilation-begun-by-60-seconds", "seconds-to-effective-ventilation", "any-corrective-step", "intubated-at-birth",
		"admission-temperature-in-range", "births-between-compressions", "born-before-37-weeks", "born-under-2500-g", "seconds-to-first-ventilation",
	})
}

// Every file of testdata/bad is wrong in its own way; want.txt holds what is said
// of it.
func TestBadFiles(t *testing.T) {
	names, err := filepath.Glob("testdata/bad/*.yaml")
	require.NoError(t, err)
	require.NotEmpty(t, names)
	var said []string
	for _, n := range names {
		src, err := os.ReadFile(n)
		require.NoError(t, err)
		_, problems := read(filepath.Base(n), src)
		require.NotEmpty(t, problems, n)
		said = append(said, problems.Err().Error())
	}
	want, err := os.ReadFile("testdata/bad/want.txt")
	require.NoError(t, err)
	require.Equal(t, string(want), strings.Join(said, "\n\n")+"\n")
}

func TestCatalogueAsAWhole(t *testing.T) {
	file := func(id string, more ...string) *fstest.MapFile {
		body, err := os.ReadFile("../../testdata/measures/born-under-2500-g.yaml")
		require.NoError(t, err)
		s := strings.Replace(string(body), "born-under-2500-g", id, 1)
		for i := 0; i+1 < len(more); i += 2 {
			require.Contains(t, s, more[i])
			s = strings.Replace(s, more[i], more[i+1], 1)
		}
		return &fstest.MapFile{Data: []byte(s)}
	}
	with := func(limit string) []string {
		return []string{"birth_weight_g < 2500", "birth_weight_g < :small_g", "chart:", "parameters: {small_g: {value: " + limit + ", words: Small.}}\nchart:"}
	}
	t.Run("one name, one value", func(t *testing.T) {
		_, err := Load(fstest.MapFS{"m/a.yaml": file("a", with("2500")...), "m/b.yaml": file("b", with("1500")...)}, "", "m")
		require.EqualError(t, err, "m/b.yaml: parameter \"small_g\" is 1500 here and 2500 in m/a.yaml\nhint: name the parameter for what it limits; one name has one value")
	})
	t.Run("shared parameter", func(t *testing.T) {
		c, err := Load(fstest.MapFS{"m/a.yaml": file("a", with("2500")...), "m/b.yaml": file("b", with("2500")...)}, "", "m")
		require.NoError(t, err)
		p := c.Projection(nil)
		require.Len(t, p.Measures, 2)
		require.Equal(t, []cell.Parameter{{Name: "small_g", Default: 2500}}, p.Parameters)
		require.Equal(t, []string{"small_g"}, p.Measures[0].Met.Params)
		require.Equal(t, []string{"birth_weight_g"}, p.Measures[0].Met.Facts)
	})
	t.Run("twice", func(t *testing.T) {
		_, err := Load(fstest.MapFS{"m/a.yaml": file("a"), "n/a.yaml": file("a")}, "conf", "m", "n")
		require.EqualError(t, err, `conf/n/a.yaml: measure "a" is defined in conf/m/a.yaml too`)
	})
	t.Run("beside nothing", func(t *testing.T) {
		_, err := Load(fstest.MapFS{"m/a.yaml": file("a", "chart:", "beside: [{measure: z, why: Because.}]\nchart:")}, "", "m")
		require.EqualError(t, err, `m/a.yaml: measure "z", to be read beside this one, is not in the catalogue`)
	})
	t.Run("empty folder", func(t *testing.T) {
		_, err := Load(fstest.MapFS{"m/readme": {}}, "conf", "m")
		require.ErrorContains(t, err, "conf/m: no measure here")
	})
	t.Run("hash follows numbers, not words", func(t *testing.T) {
		hash := func(more ...string) string {
			c, err := Load(fstest.MapFS{"m/a.yaml": file("a", more...)}, "", "m")
			require.NoError(t, err)
			return c.Measures[0].Hash
		}
		require.Equal(t, hash(), hash("title: Born under 2,500 g", "title: Small at birth"))
		require.NotEqual(t, hash(), hash("< 2500", "<= 2500"))
		require.NotEqual(t, hash(), hash("version: 1", "version: 2"))
		require.NotEqual(t, hash(with("2500")...), hash(with("2400")...))
	})
	t.Run("unknown id", func(t *testing.T) {
		_, err := catalogue(t).Named("intubated-at-brith")
		require.EqualError(t, err, "measure \"intubated-at-brith\" is not in the catalogue\nhint: did you mean \"intubated-at-birth\"?")
	})
}

// A condition may stand in a block; a place in its text is a place in the file.
func TestPlaceInBlock(t *testing.T) {
	d, ok := catalogue(t).Get("admission-temperature-in-range")
	require.True(t, ok)
	src, err := os.ReadFile("../../" + d.File)
	require.NoError(t, err)
	lines := strings.Split(string(src), "\n")
	for _, word := range []string{"in_population", "temp_min", "arrived_min <=", "moved"} {
		at := strings.Index(d.Population.Condition.Text, word)
		require.GreaterOrEqual(t, at, 0)
		line, column := Place(d.Population.Condition, at+1)
		require.True(t, strings.HasPrefix(lines[line-1][column-1:], word), "%s at %d:%d", word, line, column)
	}
}

// Every condition of the catalogue finds its place again.
func TestPlacesAreTrue(t *testing.T) {
	for _, d := range catalogue(t).Measures {
		src, err := os.ReadFile("../../" + d.File)
		require.NoError(t, err)
		lines := strings.Split(string(src), "\n")
		for _, c := range d.conditions() {
			first, _, _ := strings.Cut(c.Text, "\n")
			require.True(t, strings.HasPrefix(lines[c.Line-1][c.Column-1:], first), "%s:%d:%d", c.File, c.Line, c.Column)
		}
	}
}
