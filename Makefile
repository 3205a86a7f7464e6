# One task a line; `make test` is the second command of the README and what CI runs.
GO ?= go
FUZZTIME ?= 20s
STATICCHECK = honnef.co/go/tools/cmd/staticcheck@v0.8.2

.PHONY: test race lint demo fuzz bench bench-peers blind validation pictures

test: vet race lint

.PHONY: vet
vet:
	@test -z "$$(gofmt -l .)" || { echo "not gofmt-ed:"; gofmt -l .; exit 1; }
	$(GO) vet ./...

race:
	$(GO) test -race -timeout 15m ./...

lint:
	$(GO) run $(STATICCHECK) ./...

demo:
	$(GO) run ./cmd/evenstroke demo

# Every fuzz target for FUZZTIME each; finds are kept in testdata/fuzz of the package.
fuzz:
	@for p in $$($(GO) list ./...); do \
		for f in $$($(GO) test -list '^Fuzz' $$p 2>/dev/null | grep '^Fuzz' || true); do \
			echo "$$p $$f"; $(GO) test -run '^$$' -fuzz "^$$f$$" -fuzztime $(FUZZTIME) $$p || exit 1; \
		done; \
	done

bench:
	$(GO) test -run '^$$' -bench . -benchmem ./hold ./ode ./stroke ./unit

# Side by side with SUNDIALS (C) and SciPy on the same equations; installs both from Debian's packages.
bench-peers:
	$(MAKE) -C bench/peers

# The large set of blind cases; writes docs/blind.md.
blind:
	$(GO) run ./internal/blind/cmd/blind -n 4000 -out docs/blind.md

# Regenerates docs/validation from the reference cases.
validation:
	$(GO) test ./... -run '^TestRef$$' -update
