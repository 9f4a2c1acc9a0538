// Package queries holds the registry's statements, one a file. Some are
// templates, because a column list of the dictionary or the conditions of a
// projection belong into them; only package registry fills them in.
package queries

import (
	"embed"
	"io/fs"
	"strings"
	"text/template"
)

//go:embed *.sql
var files embed.FS

// Text returns the statement of a file, named without its ending. A name that
// does not exist panics: names are constants of the program.
func Text(name string) string {
	b, err := fs.ReadFile(files, name+".sql")
	if err != nil {
		panic("no statement " + name)
	}
	return strings.TrimSpace(string(b))
}

// Template returns the statement of a file as a template; it panics as Text does.
func Template(name string) *template.Template {
	return template.Must(template.New(name).Option("missingkey=error").Parse(Text(name)))
}
