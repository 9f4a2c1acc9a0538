// Package migrations holds the registry's schema as numbered steps, up and
// down, and the statements that make its roles.
package migrations

import (
	"embed"
	"fmt"
	"regexp"
	"strings"
	"text/template"
)

// FS holds the numbered steps.
//
//go:embed *.sql
var FS embed.FS

//go:embed roles/roles.sql
var roles string

var (
	rolesTemplate = template.Must(template.New("roles").Parse(roles))
	prefixPattern = regexp.MustCompile(`^[a-z][a-z0-9_]{0,39}$`)
)

// Roles returns the statements that make the registry's roles and grant them
// their rights, for role names that begin with prefix. The prefix must be lower-
// case letters, digits and underscores, beginning with a letter.
func Roles(prefix string) (string, error) {
	if !prefixPattern.MatchString(prefix) {
		return "", fmt.Errorf("role prefix %q is not made of lower-case letters, digits and underscores\nhint: for example chestrise_", prefix)
	}
	var b strings.Builder
	if err := rolesTemplate.Execute(&b, prefix); err != nil {
		return "", fmt.Errorf("roles: %w", err)
	}
	return b.String(), nil
}
