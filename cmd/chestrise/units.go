package main

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"

	"chestrise/etl/derive"
	"chestrise/etl/source"
	"chestrise/metrics"
)

// units is the units file: printed names, and which sources each unit waits for.
type units struct {
	Units []unit `yaml:"units"`
}

type unit struct {
	Code    string   `yaml:"code"`
	Name    string   `yaml:"name"`
	Sources []string `yaml:"sources"`
}

// plan is what people decided: units, source maps, and settings of charts.
type plan struct {
	units    units
	settings metrics.Settings
}

// plans reads the units and the settings; every problem of both is reported.
func (a *app) plans(c *config) (plan, error) {
	var p plan
	path := c.rel(c.Units)
	text, err := os.ReadFile(path)
	if err != nil {
		return p, withCode(exitConfig, fmt.Errorf("%s: units: %w", c.path, err))
	}
	errs := []error{strictYAML(path, text, &p.units)}
	seen := map[string]bool{}
	for i, u := range p.units.Units {
		switch {
		case u.Code == "" || u.Name == "":
			errs = append(errs, fmt.Errorf("%s: units[%d]: want a code and a name", path, i))
		case seen[u.Code]:
			errs = append(errs, fmt.Errorf("%s: units[%d]: %s appears twice", path, i, u.Code))
		}
		seen[u.Code] = true
	}
	if c.Settings != "" {
		folder, err := filepath.Abs(c.rel(c.Settings))
		if err != nil {
			return p, withCode(exitConfig, err)
		}
		p.settings, err = metrics.LoadSettings(os.DirFS("/"), "/", folder[1:])
		errs = append(errs, err)
	}
	return p, withCode(exitConfig, errors.Join(errs...))
}

// maps reads the maps of sources that do not send the shape of the contract.
func (a *app) maps(c *config) (map[string]*source.Map, error) {
	if c.SourceMaps == "" {
		return nil, nil
	}
	maps, problems := source.ReadMaps(c.rel(c.SourceMaps))
	var errs []error
	for _, p := range problems {
		errs = append(errs, errors.New(p.Error()))
	}
	return maps, withCode(exitConfig, errors.Join(errs...))
}

// engine is the catalogue over the registry, with what people decided.
func (a *app) engine(c *config, s *session) (*metrics.Engine, plan, error) {
	cat, err := a.catalogue(c)
	if err != nil {
		return nil, plan{}, err
	}
	p, err := a.plans(c)
	if err != nil {
		return nil, plan{}, err
	}
	names := map[string]string{}
	var codes, ids []string
	for _, u := range p.units.Units {
		names[u.Code] = u.Name
		codes = append(codes, u.Code)
	}
	for _, d := range cat.Measures {
		ids = append(ids, d.ID)
	}
	var errs []error
	for _, problem := range p.settings.Check(codes, ids) {
		errs = append(errs, fmt.Errorf("%s: %s", c.rel(c.Settings), problem))
	}
	if err := errors.Join(errs...); err != nil {
		return nil, plan{}, withCode(exitConfig, err)
	}
	return &metrics.Engine{
		Catalogue: cat, Facts: s.Registry, Store: s.Registry, Ledger: s.Registry, Settings: p.settings,
		Derivation: derive.Version, Names: names, Log: a.log(),
	}, p, nil
}
