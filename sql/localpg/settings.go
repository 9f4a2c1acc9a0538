package localpg

import (
	_ "embed"
	"fmt"
	"path/filepath"
	"strings"
)

//go:embed postgresql.conf
var baseSettings string

// configure writes the server's three settings files. It runs before every
// start, so that a newer program brings its settings along; what an
// administrator wants otherwise goes into local.conf.
func (c *cluster) configure(socketDir string) error {
	b := new(strings.Builder)
	b.WriteString(baseSettings)
	if c.unsynced {
		b.WriteString("\nfsync = off\nsynchronous_commit = off\nfull_page_writes = off\nshared_buffers = 128MB\nmax_wal_size = 1GB\n")
	}
	if own := filepath.Join(c.dir, "local.conf"); exists(own) {
		fmt.Fprintf(b, "\ninclude = %s\n", quoteSetting(own))
	}
	b.WriteString("\n# after the administrator's settings: the lease depends on these\n")
	b.WriteString("listen_addresses = ''\nlogging_collector = off\nlog_destination = 'stderr'\n")
	fmt.Fprintf(b, "port = %d\n", port)
	b.WriteString("unix_socket_permissions = 0700\n")
	fmt.Fprintf(b, "unix_socket_directories = %s\n", quoteSetting(`"`+socketDir+`"`))

	ident := fmt.Sprintf("# map, operating system user, database role\nchestrise \"%s\" %s\nchestrise root %s\n", c.as.name, Owner, Owner)
	for name, text := range map[string]string{
		"postgresql.conf": b.String(),
		"pg_hba.conf":     "# the kernel tells the server who is calling\nlocal all all peer map=chestrise\n",
		"pg_ident.conf":   ident,
	} {
		if err := c.write(filepath.Join(c.data, name), text); err != nil {
			return err
		}
	}
	return nil
}

// quoteSetting quotes a value of postgresql.conf, in whose strings a
// backslash is an escape.
func quoteSetting(s string) string {
	return "'" + strings.NewReplacer(`\`, `\\`, `'`, `''`).Replace(s) + "'"
}
