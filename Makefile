# `make help` lists what can be done here.

SHELL         := /bin/bash
.SHELLFLAGS   := -eu -o pipefail -c

GO            ?= go
GOLANGCI      := github.com/golangci/golangci-lint/v2/cmd/golangci-lint@v2.15.0
DEMO          := out/demo
BENCH         ?= .
FUZZTIME      ?= 30s
TESTFLAGS     ?=
# one server for the tests of all packages
WITH_SERVER   := $(GO) run ./sql/localpg/pgtest/hold
STAGE         := .ci/stage $(DEMO)/stages.txt
# the race detector needs cgo, which Go turns off where no C compiler is found
RACE          := $(if $(filter 1,$(shell $(GO) env CGO_ENABLED)),-race)

# packages with tests that the race detector would slow down tenfold: many seeds, the whole demo
LONG          := $(sort $(dir $(shell grep -rl --include='*_test.go' '^//go:build !race' cmd etl metrics reports sql | sed 's|^|./|')))

.DEFAULT_GOAL := help
.PHONY: help demo test check lint-tool bench reference fuzz build setup clean

help: ## list the targets
	@awk -F ':.*## ' '/^[a-z-]+:.*## / { printf "  %-10s %s\n", $$1, $$2 }' $(MAKEFILE_LIST)

demo: ## set up, then run the whole job on an invented network of units; results in out/demo
	@mkdir -p $(DEMO) && : >$(DEMO)/stages.txt
	@$(STAGE) setup .ci/setup
	@$(STAGE) build $(GO) build -o bin/ ./cmd/...
	@$(STAGE) synthesize bin/synthesize --scenario configs/demo/scenario.yaml --out $(DEMO)/deliveries --broken $(DEMO)/broken
	@$(STAGE) night-1 bin/chestrise nightly --config configs/demo/chestrise.yaml --inbox $(DEMO)/deliveries/2026-10-08
	@$(STAGE) night-2 bin/chestrise nightly --config configs/demo/chestrise.yaml --inbox $(DEMO)/deliveries
	@$(STAGE) cases bin/chestrise report case-review --config configs/demo/chestrise.yaml --unit alder --from 2026-08 --to 2026-10
	@echo "Time of each stage:" && .ci/stage $(DEMO)/stages.txt
	@echo "The reports are in $(CURDIR)/$(DEMO)"

test: setup ## run all tests, with the race detector where there is a C compiler
	$(if $(RACE),,@echo "no C compiler: the tests run without the race detector")
	$(WITH_SERVER) $(GO) test -count=1 -timeout 40m $(RACE) $(TESTFLAGS) ./...
	$(if $(RACE),$(WITH_SERVER) $(GO) test -count=1 -timeout 30m $(TESTFLAGS) $(LONG))

check: ## gofmt, go vet, and the linter if it was installed (make lint-tool)
	@unformatted=$$(gofmt -l cmd etl metrics reports sql); \
	  if [ -n "$$unformatted" ]; then echo "not formatted (gofmt -w):"; echo "$$unformatted"; exit 1; fi
	$(GO) vet ./...
	@if [ -x bin/golangci-lint ]; then echo bin/golangci-lint run; bin/golangci-lint run; \
	  else echo "bin/golangci-lint is not there; make lint-tool installs it"; fi

lint-tool: ## build the linter at its pinned version into bin
	GOBIN=$(CURDIR)/bin $(GO) install $(GOLANGCI)

bench: setup ## run the benchmarks (BENCH=pattern); results also in out/bench.txt
	@mkdir -p out
	$(WITH_SERVER) $(GO) test -run '^$$' -bench '$(BENCH)' -benchmem ./... | tee out/bench.txt

reference: ## run every check against an outside source and print it: case, source, expected, ours, difference
	@dir=$$(mktemp -d) && trap 'rm -rf "$$dir"' EXIT && \
	  REFERENCE_REPORT=$$dir $(GO) test -count=1 -run 'Reference|Grid' ./metrics/... >/dev/null && $(GO) run ./testdata/reference/report $$dir

fuzz: ## fuzz every fuzz test in turn for FUZZTIME (30s)
	@grep -roE '^func Fuzz[A-Za-z0-9_]+' --include='*_test.go' . | while IFS=: read -r file func; do \
	  echo "$$file $${func#func }"; \
	  $(GO) test "./$$(dirname "$$file")" -run '^$$' -fuzz "^$${func#func }$$" -fuzztime $(FUZZTIME); done

build: ## build the commands into bin
	$(GO) build -o bin/ ./cmd/...

setup: ## install a PostgreSQL server's programs if there are none (starts no server)
	@.ci/setup

clean: ## remove bin, out and the tests' database folder
	rm -rf bin out
	@dir="$${CHESTRISE_TEST_PG:-$${TMPDIR:-/tmp}/chestrise-test-$$(id -u)}"; [ ! -d "$$dir" ] || \
	  flock --nonblock "$$dir/use.lock" rm -rf "$$dir" || echo "$$dir is in use; left as it is"
