package main

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"

	"github.com/goccy/go-yaml"

	"chestrise/reports"
)

// config is configs/chestrise.yaml. Precedence: flag, then environment, then
// this file, then the defaults below. Paths are relative to the file. Secrets
// are never in it: the address of a server that needs a password comes from
// CHESTRISE_DSN or from a file that only its owner can read.
type config struct {
	Registry   registryConfig `yaml:"registry"`
	Inbox      []string       `yaml:"inbox"`       // folders searched for deliveries
	SourceMaps string         `yaml:"source_maps"` // folder of source maps; empty: deliveries in the shape of the contract only
	KeyFiles   string         `yaml:"key_files"`   // folder of drawn keys, outside the output
	Measures   []string       `yaml:"measures"`    // folders of measure definitions
	Units      string         `yaml:"units"`       // names of the units and their sources
	Settings   string         `yaml:"settings"`    // folder with calendar, baselines, phases and interventions
	CaseReview string         `yaml:"case_review"` // triggers and wording of case packets
	Network    string         `yaml:"network"`     // units, codes and rules of comparisons
	Exports    string         `yaml:"exports"`     // folder of export maps
	Out        string         `yaml:"out"`
	HeldAlarm  float64        `yaml:"held_alarm"` // share of newborn rows held back above which a night ends with code 3
	Locale     localeConfig   `yaml:"locale"`

	path string
}

type registryConfig struct {
	DSN      string `yaml:"dsn"`      // without a password; empty: the private server
	DSNFile  string `yaml:"dsn_file"` // file with a DSN, readable by its owner alone
	Name     string `yaml:"name"`     // of the private server, to tell several apart
	Folder   string `yaml:"folder"`   // of the private server; empty: the usual place under its name
	Database string `yaml:"database"`
}

type localeConfig struct {
	DecimalComma bool     `yaml:"decimal_comma"`
	Months       []string `yaml:"months"`
}

func (l localeConfig) locale() reports.Locale {
	return reports.Locale{DecimalComma: l.DecimalComma, Months: l.Months}
}

const defaultConfig = "configs/chestrise.yaml"

// config reads the configuration; every problem is an invalid configuration.
func (a *app) config() (*config, error) {
	path := a.configPath
	if path == "" {
		path = os.Getenv("CHESTRISE_CONFIG")
	}
	if path == "" {
		path = defaultConfig
	}
	text, err := os.ReadFile(path)
	if err != nil {
		return nil, withCode(exitConfig, fmt.Errorf("%w\nhint: name a configuration with --config FILE", err))
	}
	c := &config{path: path, HeldAlarm: 0.02, Registry: registryConfig{Database: "chestrise"}}
	if err := strictYAML(path, text, c); err != nil {
		return nil, withCode(exitConfig, err)
	}
	if err := c.environment(); err != nil {
		return nil, withCode(exitConfig, err)
	}
	if err := c.check(); err != nil {
		return nil, withCode(exitConfig, err)
	}
	return c, nil
}

// strictYAML decodes one document; unknown keys and second documents are errors.
func strictYAML(path string, text []byte, into any) error {
	d := yaml.NewDecoder(bytes.NewReader(text), yaml.Strict())
	if err := d.Decode(into); err != nil && !errors.Is(err, io.EOF) {
		return fmt.Errorf("%s: %w", path, err)
	}
	var second any
	if err := d.Decode(&second); !errors.Is(err, io.EOF) {
		return fmt.Errorf("%s: holds a second document", path)
	}
	return nil
}

func (c *config) environment() error {
	if v := os.Getenv("CHESTRISE_OUT"); v != "" {
		c.Out = absolute(v)
	}
	if v := os.Getenv("CHESTRISE_FOLDER"); v != "" {
		c.Registry.Folder = absolute(v)
	}
	if strings.Contains(strings.ToLower(c.Registry.DSN), "password") || strings.Contains(c.Registry.DSN, "://") && strings.Contains(c.Registry.DSN, "@") {
		return fmt.Errorf("%s: registry.dsn: holds a password\nhint: put the address into CHESTRISE_DSN, or into a file with mode 0600 and name that under registry.dsn_file", c.path)
	}
	if c.Registry.DSNFile != "" {
		dsn, err := secret(c.rel(c.Registry.DSNFile))
		if err != nil {
			return fmt.Errorf("%s: registry.dsn_file: %w", c.path, err)
		}
		c.Registry.DSN = dsn
	}
	if v := os.Getenv("CHESTRISE_DSN"); v != "" {
		c.Registry.DSN = v
	}
	return nil
}

// secret reads a file that nobody but its owner may read.
func secret(path string) (string, error) {
	info, err := os.Stat(path)
	if err != nil {
		return "", err
	}
	if info.Mode().Perm()&0o077 != 0 {
		return "", fmt.Errorf("%s can be read by others\nhint: chmod 600 %s", path, path)
	}
	text, err := os.ReadFile(path)
	return strings.TrimSpace(string(text)), err
}

func (c *config) check() error {
	var errs []error
	bad := func(key, what string) { errs = append(errs, fmt.Errorf("%s: %s: %s", c.path, key, what)) }
	if len(c.Measures) == 0 {
		bad("measures", "names no folder of measure definitions")
	}
	if c.Out == "" {
		bad("out", "names no folder for the reports")
	}
	if c.Units == "" {
		bad("units", "names no file with the units")
	}
	if c.HeldAlarm < 0 || c.HeldAlarm > 1 {
		bad("held_alarm", "want a share from 0 to 1")
	}
	if n := len(c.Locale.Months); n != 0 && n != 12 {
		bad("locale.months", "want twelve names, or none")
	}
	return errors.Join(errs...)
}

// rel resolves a path against the folder of the configuration.
func (c *config) rel(path string) string {
	if path == "" || filepath.IsAbs(path) {
		return path
	}
	return filepath.Join(filepath.Dir(c.path), path)
}

func absolute(path string) string {
	if p, err := filepath.Abs(path); err == nil {
		return p
	}
	return path
}
