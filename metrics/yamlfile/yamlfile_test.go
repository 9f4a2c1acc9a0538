package yamlfile

import (
	"testing"

	"github.com/goccy/go-yaml/ast"
	"github.com/stretchr/testify/require"
)

func TestReadsStrictly(t *testing.T) {
	var name, mode string
	var n int
	var x float64
	var on bool
	var list []string
	read := func(src string) error {
		f := &File{Path: "a.yaml"}
		if root := f.Root([]byte(src)); root != nil {
			f.Keys(root, "the file", []string{"name"}, map[string]func(ast.Node){
				"name": f.Sentence(&name, "name"), "count": f.Integer(&n, "count", 1, 9), "share": f.Float(&x, "share"),
				"on": f.Boolean(&on, "on"), "list": f.Sentences(&list, "list"), "mode": OneOf(f, &mode, "mode", "slow", "fast"),
			})
		}
		return f.Problems.Err()
	}
	require.NoError(t, read("name: >-\n  two\n  lines\ncount: 3\nshare: 0.5\non: true\nlist: [a, b]\nmode: fast\n"))
	require.Equal(t, "two lines", name)
	require.Equal(t, 3, n)
	require.InDelta(t, 0.5, x, 0)
	require.True(t, on)
	require.Equal(t, []string{"a", "b"}, list)
	require.Equal(t, "fast", mode)

	for src, want := range map[string]string{
		"":                     "a.yaml: file is empty",
		"# nothing\n":          "a.yaml: file is empty",
		"count: 0\n":           "a.yaml:1:1: the file lacks the key \"name\"\na.yaml:1:8: count must be a whole number from 1 to 9, not \"0\"",
		"name:\n":              "a.yaml:1:1: key \"name\" of the file has no value\nhint: leave the key out",
		"name: ''\n":           "a.yaml:1:7: name is empty\nhint: leave the key out",
		"name: x\nshare: .nan": "a.yaml:2:8: share must be one value",
		"name: x\nshare: NaN":  "a.yaml:2:8: share is no number: \"NaN\"",
		"name: x\non: yes":     "a.yaml:2:5: on must be true or false",
		"name: x\nlist: a":     "a.yaml:2:7: list must be a list\nhint: begin each item with a hyphen",
		"name: x\nmode: fst":   "a.yaml:2:7: mode \"fst\" is not known\nhint: did you mean \"fast\"?",
		"name: x\nmoed: fast":  "a.yaml:2:1: unknown key \"moed\" in the file\nhint: did you mean \"mode\"?",
		"name: [":              "a.yaml:1:7: sequence end token ']' not found",
		"- a":                  "a.yaml:1:1: the file must be a list of keys and values",
	} {
		require.EqualError(t, read(src), want, src)
	}
}

func TestNearest(t *testing.T) {
	words := []string{"title", "tier", "tube", "need"}
	for s, want := range map[string]string{"titel": "title", "nead": "need", "tub": "tube", "x": "", "population": "", "tiers": "tier"} {
		require.Equal(t, want, nearest(s, words), s)
	}
	require.Equal(t, 0, distance("", ""))
	require.Equal(t, 3, distance("", "abc"))
	require.Equal(t, 1, distance("ab", "ba"))
}
