package localpg

import (
	"cmp"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
)

// oldest is the first major version that the registry's SQL works with.
const oldest = 15

// programs is a folder with the server's programs.
type programs struct {
	dir   string
	major int
}

func (p programs) path(name string) string { return filepath.Join(p.dir, name) }

// where server programs lie: Debian's folders, those of other packagers, a
// build from source. The search path comes last.
var places = []string{
	"/usr/lib/postgresql/*/bin",
	"/usr/pgsql-*/bin",
	"/usr/lib/postgresql*/bin",
	"/usr/libexec/postgresql*",
	"/opt/postgresql*/bin",
	"/usr/local/pgsql/bin",
}

// findPrograms returns every installed server, newest first.
func findPrograms() []programs {
	var dirs []string
	for _, glob := range places {
		match, _ := filepath.Glob(glob) // the patterns are constant and valid
		dirs = append(dirs, match...)
	}
	if p, err := exec.LookPath("postgres"); err == nil {
		if p, err = filepath.EvalSymlinks(p); err == nil { // initdb lies beside the real file
			dirs = append(dirs, filepath.Dir(p))
		}
	}
	var found []programs
	for _, dir := range dirs {
		known := slices.ContainsFunc(found, func(p programs) bool { return p.dir == dir })
		if p, err := readPrograms(dir); err == nil && !known {
			found = append(found, p)
		}
	}
	slices.SortStableFunc(found, func(a, b programs) int { return cmp.Compare(b.major, a.major) })
	return found
}

var versionNumber = regexp.MustCompile(`\(PostgreSQL\) (\d+)`)

// readPrograms asks the server in dir for its version.
func readPrograms(dir string) (programs, error) {
	p := programs{dir: dir, major: 0}
	if _, err := exec.LookPath(p.path("initdb")); err != nil {
		return p, fmt.Errorf("no server programs in %s: %w", dir, err)
	}
	cmd := exec.Command(p.path("postgres"), "--version")
	cmd.Env = childEnvironment()
	out, err := cmd.Output()
	if err != nil {
		return p, fmt.Errorf("%s --version: %w", p.path("postgres"), err)
	}
	m := versionNumber.FindSubmatch(out)
	if m == nil {
		return p, fmt.Errorf("%s --version: no version in its answer", p.path("postgres"))
	}
	p.major, err = strconv.Atoi(string(m[1]))
	return p, err
}

// choose picks the programs for a cluster of major version data, or for a new
// cluster when data is 0: the matching version, else the newest.
func choose(found []programs, data int, folder string) (programs, error) {
	var versions []string
	for _, p := range found {
		if p.major == data || data == 0 && p.major >= oldest {
			return p, nil
		}
		versions = append(versions, strconv.Itoa(p.major))
	}
	has := "none is installed"
	if len(versions) > 0 {
		has = "installed: " + strings.Join(versions, ", ")
	}
	if data == 0 {
		return programs{}, fmt.Errorf("no PostgreSQL server of version %d or later (%s)%s", oldest, has,
			hint("apt-get install postgresql"))
	}
	return programs{}, fmt.Errorf("%s was made by PostgreSQL %d, and no server of that version is here (%s)%s", folder, data, has,
		hint("apt-get install postgresql-%d, or move the folder away and load the deliveries again", data))
}

// dataVersion reads the major version of the cluster in data; 0 when there is
// no cluster yet.
func dataVersion(data string) (int, error) {
	b, err := os.ReadFile(filepath.Join(data, "PG_VERSION"))
	if os.IsNotExist(err) {
		if _, err := os.Lstat(data); os.IsNotExist(err) {
			return 0, nil
		}
	}
	if err != nil {
		return 0, fmt.Errorf("cluster version: %w", err)
	}
	major, err := strconv.Atoi(strings.TrimSpace(string(b)))
	if err != nil {
		return 0, fmt.Errorf("cluster version: %s/PG_VERSION does not hold a number", data)
	}
	if major < oldest {
		return 0, fmt.Errorf("%s was made by PostgreSQL %d; the registry needs %d or later%s", data, major, oldest,
			hint("upgrade it with pg_upgrade, or move the folder away and load the deliveries again"))
	}
	return major, nil
}

// childEnvironment is all that a server program gets to see: no PG* variable,
// locale, time zone or secret of the calling process.
func childEnvironment() []string {
	env := []string{"PATH=/usr/local/bin:/usr/bin:/bin", "LC_ALL=C", "TZ=UTC"}
	if v, ok := os.LookupEnv("LD_LIBRARY_PATH"); ok {
		env = append(env, "LD_LIBRARY_PATH="+v)
	}
	return env
}
