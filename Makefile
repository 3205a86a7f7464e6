# One task a line; `make test` is the second command of the README and what CI runs.
GO ?= go
FUZZTIME ?= 20s
STATICCHECK = honnef.co/go/tools/cmd/staticcheck@v0.8.2

.PHONY: test needs race browser lint demo serve fuzz claims bench bench-peers bench-verify bench-load kills blind validation pictures release man vulnerabilities

# The tests with the race detector, the rest without, then the pages in a browser; at the end the ten slowest tests and how many passed.
test: needs vet lint
	EVENSTROKE_INSTALL=1 $(GO) run ./internal/slowest $(RACE) -- $(BESIDE) -- $(PLAIN) -- $(APART) -- $(PAGES)

# Packages whose tests start nothing beside themselves, or next to nothing (the terminal: BESIDE). What they call is under the race detector in the
# tests of its own package; with it these would take three times as long. `make race` takes all.
ALONE = /internal/(text|report|cli|draw|sec|claims.*|arch)$$|/packaging|/evenstroke/cmd/
BESIDE = -race -run '^TestScript$$/^lines$$|^TestAskAt|^TestAskIs|^TestProgress' -timeout 60m ./internal/cli
# Packages whose tests take longest come first, so that none of them is left to run alone at the end.
LONG = ./internal/store ./internal/serve ./internal/web
# Tests of one thing after the other, or of what another process does, that take long: the race detector would show nothing and make them ten times as
# long. They run apart, without it.
HEAVY = ^(TestSixLargePictures|TestEveryCombination|TestLockedEvidenceAgainstQuadrature|TestEvidenceAgainstQuadrature|TestSizes|TestShrinkTakesTheMean|TestPhotoOf12MPInTime|TestPredictionsAgree|TestProofsProve|TestSpreadOverSeeds|TestDamageIsNoticedAtStart|TestEachIndexIsCompared|TestEachBadPageIsFound|TestDamagedFile|TestAJobInSpanish)$$
APART = -p 4 -run '$(HEAVY)' -timeout 60m ./internal/store ./internal/assess ./internal/serve ./internal/picture ./internal/web ./internal/blind/gen ./hold
RACE = -race -p 4 -skip '$(HEAVY)' -timeout 60m $(LONG) $$($(GO) list ./... | grep -v /internal/browser | grep -vE '$(ALONE)')
PLAIN = -p 4 -timeout 60m $$($(GO) list ./... | grep -v /internal/browser | grep -E '$(ALONE)')
PAGES = -count=1 -timeout 60m ./internal/browser/...

# What the tests need beside Go: PostgreSQL, a browser, readers of PDF and QR. Installed from Debian's packages when missing and
# when this is root; otherwise it says what is missing, and those tests say that they were left out.
needs:
	@sh packaging/needs.sh

.PHONY: vet
vet:
	@test -z "$$(gofmt -l .)" || { echo "not gofmt-ed:"; gofmt -l .; exit 1; }
	$(GO) vet ./...

race:
	EVENSTROKE_INSTALL=1 $(GO) test -race -timeout 60m $$($(GO) list ./... | grep -v /internal/browser)

browser:
	EVENSTROKE_INSTALL=1 $(GO) test $(PAGES)

lint:
	$(GO) run $(STATICCHECK) ./...

demo:
	$(GO) run -tags small ./cmd/evenstroke demo

# The demo workshop in a browser; the line it prints leads in.
serve:
	$(GO) run ./cmd/evenstroke serve --demo --data evenstroke-demo/workshop --lan none

# Every fuzz target for FUZZTIME each; finds are kept in testdata/fuzz of the package. An input that reaches something new is made smaller in ten
# tries: the minute that Go spends on it by itself left no time for other inputs where one is long or dear.
fuzz:
	@for p in $$($(GO) list ./...); do \
		for f in $$($(GO) test -list '^Fuzz' $$p 2>/dev/null | grep '^Fuzz' || true); do \
			echo "$$p $$f"; $(GO) test -run '^$$' -fuzz "^$$f$$" -fuzztime $(FUZZTIME) -fuzzminimizetime 10x -parallel 1 $$p || exit 1; \
		done; \
	done

# Breaks the program line by line and runs for each break the test that docs/security.md names for that claim; all have to be red. Some ten minutes.
claims:
	$(GO) run ./internal/claims/cmd/claims

bench:
	$(GO) test -run '^$$' -bench . -benchmem ./hold ./ode ./stroke ./unit

# How fast the records of a shop are verified, beside an earlier version; prints ratios.
bench-verify:
	$(GO) run ./bench/verify

# Side by side with SUNDIALS (C) and SciPy on the same equations; installs both from Debian's packages.
bench-peers:
	$(MAKE) -C bench/peers

# Pages, search and presses under the load of 200 tablets, on both engines; prints a table.
bench-load:
	$(MAKE) -C bench/load

# A thousand kills while entries are written, on each engine.
kills:
	EVENSTROKE_KILLS=1000 $(GO) test ./internal/store -run TestKills -timeout 2h -v

# Screenshots of the main pages into docs/screens.
pictures: needs
	d=$$(mktemp -d) && $(GO) build -o $$d/shop ./internal/browser/cmd/shop && node internal/browser/pictures.mjs $$d/shop; s=$$?; rm -r "$$d"; exit $$s

# Static binaries for Linux, Windows and macOS in dist/, with manual pages, documents, checksums and licences, and packages for Debian.
release:
	sh packaging/release.sh

# Known vulnerabilities in what the program calls; says so when the database cannot be had.
vulnerabilities:
	sh packaging/vulnerabilities.sh

# Manual pages and completions into dist/extras.
man:
	SOURCE_DATE_EPOCH=$$(git log -1 --format=%ct) $(GO) run ./packaging/extras dist/extras

# The large set of blind cases; writes docs/blind.md.
blind:
	$(GO) run ./internal/blind/cmd/blind -n 4000 -out docs/blind.md

# Regenerates docs/validation from the reference cases.
validation:
	$(GO) test ./... -run '^TestRef$$' -update
