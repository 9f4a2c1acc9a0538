package localpg

import (
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"

	"github.com/lib/pq"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func TestAnyPathWillDo(t *testing.T) {
	for name, below := range map[string]string{
		"spaces": "night job, unit 3/the registry",
		"quotes": `it's "quoted" \back $HOME $(exit 1) ` + "`x`",
		"long":   strings.Repeat("a-rather-long-name/", 8) + "registry",
		"accent": "données",
	} {
		t.Run(name, func(t *testing.T) {
			dir := filepath.Join(cleanFolder(t), below)
			lease := acquire(t, dir)
			require.Equal(t, "1", ask(t, lease, "select 1"))
			require.Equal(t, dir, lease.Dir())

			socketDir := lease.server.socketDir
			require.LessOrEqual(t, len(socketPath(socketDir, port)), longestSocket)
			st, err := os.Stat(socketDir)
			require.NoError(t, err)
			require.Equal(t, os.FileMode(0o700), st.Mode().Perm())
			uid, err := ownerOf(socketDir)
			require.NoError(t, err)
			require.Equal(t, lease.c.as.uid, uid)
			if socketDir != filepath.Join(dir, "run") {
				require.NoError(t, lease.Release())
				require.NoDirExists(t, socketDir, "a folder outside the data folder is tidied up")
			}
		})
	}
	_, err := Acquire(t.Context(), Options{Dir: "line\nbreak"})
	require.ErrorContains(t, err, "control characters")
}

func TestTwoLongPathsHaveTwoSockets(t *testing.T) {
	long := filepath.Join(cleanFolder(t), strings.Repeat("x", 100))
	one, two := acquire(t, filepath.Join(long, "one")), acquire(t, filepath.Join(long, "two"))
	require.NotEqual(t, one.DSN("postgres"), two.DSN("postgres"))
	require.Contains(t, ask(t, two, "show data_directory"), "/two/data")
	require.Contains(t, ask(t, one, "show data_directory"), "/one/data")
}

func TestASocketFolderMadeBySomebodyElseIsRefused(t *testing.T) {
	dir := folder(t)
	c := at(t, dir)
	claim := func(name string) error { return c.claimSocketDir(filepath.Join(dir, name)) }

	require.NoError(t, claim("new"))
	require.NoError(t, claim("new"), "our own from an earlier run")

	require.NoError(t, os.Mkdir(filepath.Join(dir, "open"), 0o700))
	require.NoError(t, c.give(filepath.Join(dir, "open")))
	require.NoError(t, os.Chmod(filepath.Join(dir, "open"), 0o755))
	require.ErrorContains(t, claim("open"), "only user")

	require.NoError(t, os.Symlink(filepath.Join(dir, "new"), filepath.Join(dir, "link")))
	require.ErrorContains(t, claim("link"), "only user")

	require.NoError(t, os.WriteFile(filepath.Join(dir, "file"), nil, 0o700))
	require.ErrorContains(t, claim("file"), "only user")

	if os.Geteuid() == 0 { // a folder that root made is not the server's either
		require.NoError(t, os.Mkdir(filepath.Join(dir, "roots"), 0o700))
		require.ErrorContains(t, claim("roots"), "only user")
	}
	require.ErrorContains(t, claim(strings.Repeat("y", 107)), "too long")
	require.ErrorContains(t, c.claimSocketDir("relative"), "not usable")
}

func TestTheDefaultFolder(t *testing.T) {
	if os.Geteuid() == 0 {
		dir, err := DefaultDir("")
		require.NoError(t, err)
		require.Equal(t, "/var/lib/chestrise/registry", dir)
	} else {
		t.Setenv("XDG_STATE_HOME", "/some/state")
		dir, err := DefaultDir("demo")
		require.NoError(t, err)
		require.Equal(t, "/some/state/chestrise/demo", dir)
		t.Setenv("XDG_STATE_HOME", "not/absolute") // to be ignored: XDG Base Directory Specification 0.8
		t.Setenv("HOME", "/home/someone")
		dir, err = DefaultDir("")
		require.NoError(t, err)
		require.Equal(t, "/home/someone/.local/state/chestrise/registry", dir)
	}
	for _, name := range []string{"../up", "a/b", ".", "..", ".hidden"} {
		_, err := DefaultDir(name)
		require.ErrorContains(t, err, "not a plain folder name", name)
	}
}

func TestInheritedVariablesDoNotReachTheServerOrTheDriver(t *testing.T) {
	for _, v := range []string{
		"PGHOST=elsewhere.invalid", "PGHOSTADDR=192.0.2.1", "PGPORT=1", "PGUSER=nobody-known", "PGDATA=/nonexistent",
		"PGOPTIONS=-c nonsense=1", "PGSERVICE=missing", "PGREQUIRESSL=1", "PGSSLMODE=verify-full", "PGTZ=Nowhere/Land",
		"LC_ALL=xx_XX.nonsense", "LANG=xx_XX", "TZ=Nowhere/Land",
	} {
		name, value, _ := strings.Cut(v, "=")
		t.Setenv(name, value)
	}
	require.Equal(t, "UTC", ask(t, acquire(t, cleanFolder(t)), "show timezone"))
}

// The driver reads back exactly what was put into the connection string.
func TestConnectionStringsAreQuoted(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text := rapid.StringOfN(rapid.RuneFrom([]rune(`ab '"\=/é `+"\t")), 1, 30, -1)
		dir, name := "/"+text.Draw(t, "dir"), text.Draw(t, "name")
		l := &Lease{server: running{socketDir: dir, port: port}}
		cfg, err := pq.NewConfig(l.DSN(name))
		if err != nil {
			t.Fatalf("%v", err)
		}
		if cfg.Host != dir || cfg.Database != name || cfg.User != Owner || cfg.Port != port || cfg.SSLMode != pq.SSLModeDisable {
			t.Fatalf("read back as host %q, database %q, user %q", cfg.Host, cfg.Database, cfg.User)
		}
	})
}

func TestAnotherUserMayUseTheirOwnCluster(t *testing.T) {
	needRoot(t)
	nobody := credentialOf(t, "nobody")
	home := cleanFolder(t)
	require.NoError(t, os.Mkdir(home, 0o700))
	require.NoError(t, os.Chown(home, int(nobody.Uid), int(nobody.Gid)))
	t.Setenv("XDG_STATE_HOME", home)

	a := cast(t, nobody, "lease", "") // no folder named: the default one
	require.Equal(t, "ready true", strings.Join(strings.Fields(a.says(t))[:2], " "))
	uid, err := ownerOf(filepath.Join(home, "chestrise", "registry", "data"))
	require.NoError(t, err)
	require.Equal(t, nobody.Uid, uid)
	a.leaves(t)
}

func TestSomebodyElsesFolderIsRefused(t *testing.T) {
	needRoot(t)
	nobody := credentialOf(t, "nobody")
	dir := folder(t)
	require.NoError(t, os.Chmod(dir, 0o777))
	a := cast(t, nobody, "lease", dir) // root's folder
	require.Contains(t, a.says(t), "belongs to root, not to the user of this process")
	require.Contains(t, a.says(t), "hint: run as root, or choose another data folder")

	require.NoError(t, os.Chown(dir, int(nobody.Uid), int(nobody.Gid)))
	_, err := Acquire(t.Context(), Options{Dir: dir})
	require.ErrorContains(t, err, "belongs to nobody")
}

func TestAClosedFolderOnTheWayIsNamed(t *testing.T) {
	needRoot(t)
	closed := filepath.Join(folder(t), "closed")
	require.NoError(t, os.Mkdir(closed, 0o700))
	_, err := Acquire(t.Context(), Options{Dir: filepath.Join(closed, "deep", "down")})
	require.ErrorContains(t, err, "may not pass through "+closed+" on the way to "+closed+"/deep/down")
	require.ErrorContains(t, err, "hint: chmod o+x "+closed)
}

func TestAUserWithoutANameIsToldSo(t *testing.T) {
	needRoot(t)
	a := cast(t, &syscall.Credential{Uid: 54321, Gid: 54321}, "lease", "/tmp/localpg-unused")
	require.Contains(t, a.says(t), "user number 54321 has no name on this machine")
	require.Contains(t, a.says(t), "hint: add the user to /etc/passwd")
	require.NoError(t, os.RemoveAll("/tmp/localpg-unused"))
}

// Even with every file mode thrown open, the kernel tells the server who is
// calling, and the server turns strangers away.
func TestOtherUsersAreTurnedAway(t *testing.T) {
	needRoot(t)
	lease := acquire(t, cleanFolder(t))
	if lease.c.as.name == "nobody" {
		t.Skip("nobody runs the server here, so it is no stranger")
	}
	nobody := credentialOf(t, "nobody")
	stranger := cast(t, nobody, "query", lease.DSN("postgres"))
	require.Contains(t, stranger.says(t), "permission denied")

	require.NoError(t, os.Chmod(lease.server.socketDir, 0o755))
	require.NoError(t, os.Chmod(socketPath(lease.server.socketDir, port), 0o777))
	for _, role := range []string{Owner, "postgres", "nobody"} {
		dsn := strings.Replace(lease.DSN("postgres"), "user="+Owner, "user="+role, 1)
		stranger := cast(t, nobody, "query", dsn)
		require.Contains(t, strings.ToLower(stranger.says(t)), "peer authentication failed", role)
	}
	// The server's own user and root are known.
	require.Equal(t, "answered", cast(t, lease.c.as.credential(), "query", lease.DSN("postgres")).says(t))
	require.Equal(t, "answered", cast(t, nil, "query", lease.DSN("postgres")).says(t))
	require.NoError(t, os.Chmod(lease.server.socketDir, 0o700))
}

// Root in a container often may not look into another user's processes. It
// must still see that the server runs, and not start a second one.
func TestRootWithoutTheRightToInspectProcesses(t *testing.T) {
	needRoot(t)
	setpriv, err := exec.LookPath("setpriv") // util-linux
	require.NoError(t, err)
	dir := cleanFolder(t)
	lease := acquire(t, dir)
	pid := postmaster(t, dir)
	a := cast(t, nil, "lease", dir, setpriv, "--bounding-set=-sys_ptrace", "--inh-caps=-sys_ptrace")
	require.Equal(t, "ready false", strings.Join(strings.Fields(a.says(t))[:2], " "))
	require.NoError(t, lease.Release())
	require.Equal(t, pid, postmaster(t, dir))
	a.leaves(t)
	require.Empty(t, at(t, dir).processes())
}

func credentialOf(t *testing.T, name string) *syscall.Credential {
	t.Helper()
	a, err := lookupName(name)
	require.NoError(t, err)
	return &syscall.Credential{Uid: a.uid, Gid: a.gid}
}
