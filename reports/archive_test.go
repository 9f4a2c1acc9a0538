package reports_test

import (
	"bytes"
	"context"
	"errors"
	"io"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"chestrise/etl/record"
	"chestrise/reports"
	"chestrise/reports/issue"
)

// shelf is an archive in memory.
type shelf struct {
	issues    map[issue.Key][]issue.Issue
	publish   error
	published int
}

func (s *shelf) Plan(_ context.Context, k issue.Key, model [32]byte, g record.Generation, _ []issue.Cell) (issue.Issue, bool, error) {
	all := s.issues[k]
	replaces := 0
	for _, i := range all {
		if i.State == issue.Published {
			replaces = i.No
		}
	}
	if n := len(all); n > 0 {
		last := &all[n-1]
		if last.State == issue.Published && last.Model == model {
			return *last, false, nil
		}
		if last.State == issue.Planned {
			last.Model, last.Generation = model, g
			return *last, true, nil
		}
	}
	i := issue.Issue{Key: k, No: len(all) + 1, Replaces: replaces, State: issue.Planned, Model: model, Generation: g}
	s.issues[k] = append(all, i)
	return i, true, nil
}

func (s *shelf) Published(_ context.Context, k issue.Key, no int, files []issue.File) error {
	if s.publish != nil {
		return s.publish
	}
	s.published++
	i := &s.issues[k][no-1]
	i.State, i.Files = issue.Published, files
	return nil
}

func (s *shelf) Last(context.Context, issue.Key) (issue.Issue, []issue.Cell, error) {
	return issue.Issue{}, nil, nil
}

type plainText struct{ fail error }

func (plainText) Ext() string { return ".txt" }

func (p plainText) Render(w io.Writer, d *reports.Document, _ reports.Stamp) error {
	if p.fail != nil {
		return p.fail
	}
	_, err := io.WriteString(w, d.Title)
	return err
}

var key = issue.Key{Kind: "dashboard", Unit: "alder", Period: "2026-03"}

func job(title string) reports.Job {
	return reports.Job{
		Key: key, Name: "alder-2026-03", Stamp: reports.Stamp{Generation: 7},
		Document: &reports.Document{Title: title, Sections: []reports.Section{{ID: "a", Blocks: []reports.Block{reports.Text{Text: "x"}}}}},
	}
}

func TestAnIdleNightIssuesNothing(t *testing.T) {
	s := &shelf{issues: map[issue.Key][]issue.Issue{}}
	p := reports.Publisher{Root: t.TempDir(), Archive: s, Renderers: []reports.Renderer{plainText{}}}
	first, fresh, err := p.Publish(t.Context(), job("one"))
	require.NoError(t, err)
	require.True(t, fresh)
	require.Equal(t, 1, first.Issue)
	before := tree(t, p.Root)

	again, fresh, err := p.Publish(t.Context(), job("one"))
	require.NoError(t, err)
	require.False(t, fresh)
	require.Equal(t, first, again)
	require.Equal(t, before, tree(t, p.Root), "an idle night changes no byte")
	require.Equal(t, 1, s.published)
}

func TestAChangedReportIsANewNumberAndTheOldOneStays(t *testing.T) {
	s := &shelf{issues: map[issue.Key][]issue.Issue{}}
	p := reports.Publisher{Root: t.TempDir(), Archive: s, Renderers: []reports.Renderer{plainText{}}}
	_, _, err := p.Publish(t.Context(), job("one"))
	require.NoError(t, err)
	second, fresh, err := p.Publish(t.Context(), job("two"))
	require.NoError(t, err)
	require.True(t, fresh)
	require.Equal(t, 2, second.Issue)
	require.Equal(t, 1, second.Replaces)
	home := filepath.Join(p.Root, "dashboard", "alder", "2026-03")
	require.Equal(t, "one", read(t, filepath.Join(home, "issue-001", "alder-2026-03.txt")))
	require.Equal(t, "two", read(t, filepath.Join(home, "issue-002", "alder-2026-03.txt")))
	require.Contains(t, read(t, filepath.Join(home, "current.json")), `"issue": 2`)
}

func TestAFailureLeavesNothingToBeSeenAndTheNextNightGoesOn(t *testing.T) {
	s := &shelf{issues: map[issue.Key][]issue.Issue{}}
	root := t.TempDir()
	broken := reports.Publisher{Root: root, Archive: s, Renderers: []reports.Renderer{plainText{}, plainText{fail: errors.New("no ink")}}}
	_, _, err := broken.Publish(t.Context(), job("one"))
	require.ErrorContains(t, err, "no ink")
	require.Empty(t, tree(t, root), "no file of a failed issue")

	s.publish = errors.New("connection lost")
	whole := reports.Publisher{Root: root, Archive: s, Renderers: []reports.Renderer{plainText{}}}
	_, _, err = whole.Publish(t.Context(), job("one"))
	require.ErrorContains(t, err, "connection lost")
	require.NotContains(t, tree(t, root), "dashboard/alder/2026-03/current.json", "nothing points to it")

	s.publish = nil
	c, fresh, err := whole.Publish(t.Context(), job("one"))
	require.NoError(t, err)
	require.True(t, fresh)
	require.Equal(t, 1, c.Issue, "the number that was planned is used")
}

func TestALostFolderIsWrittenAgainUnderItsNumber(t *testing.T) {
	s := &shelf{issues: map[issue.Key][]issue.Issue{}}
	p := reports.Publisher{Root: t.TempDir(), Archive: s, Renderers: []reports.Renderer{plainText{}}}
	_, _, err := p.Publish(t.Context(), job("one"))
	require.NoError(t, err)
	before := tree(t, p.Root)
	require.NoError(t, os.RemoveAll(filepath.Join(p.Root, "dashboard")))
	c, fresh, err := p.Publish(t.Context(), job("one"))
	require.NoError(t, err)
	require.False(t, fresh)
	require.Equal(t, 1, c.Issue)
	require.Equal(t, before, tree(t, p.Root))
}

func TestTheDigestSeesBlocksAndNotTheStamp(t *testing.T) {
	one, err := reports.Digest(job("one").Document)
	require.NoError(t, err)
	same, err := reports.Digest(job("one").Document)
	require.NoError(t, err)
	require.Equal(t, one, same)
	d := job("one").Document
	d.Sections[0].Blocks = []reports.Block{reports.Heading{Text: "x"}}
	other, err := reports.Digest(d)
	require.NoError(t, err)
	require.NotEqual(t, one, other, "a heading is not a paragraph")
}

func tree(t *testing.T, root string) map[string]string {
	t.Helper()
	all := map[string]string{}
	err := filepath.WalkDir(root, func(path string, e os.DirEntry, err error) error {
		if err != nil || e.IsDir() {
			return err
		}
		rel, _ := filepath.Rel(root, path)
		all[rel] = read(t, path)
		return nil
	})
	require.NoError(t, err)
	return all
}

func read(t *testing.T, path string) string {
	t.Helper()
	b, err := os.ReadFile(path)
	require.NoError(t, err)
	return string(bytes.TrimSpace(b))
}
