# Nightpair. On a fresh Debian 12 machine with git, make and Go, `make demo` and
# `make test` each do all that is needed.

build_packages = gcc libc6-dev pkg-config libavformat-dev libavcodec-dev libavutil-dev \
	libavfilter-dev libavdevice-dev libswscale-dev libswresample-dev
test_packages = ffmpeg python3-skimage python3-opencv opencv-doc forensics-samples-files

# Frames are decoded by FFmpeg in C; everything else builds without a compiler.
export CGO_ENABLED = 1

bin = bin/nightpair
demo_day = demo-day
demo_report = demo-report

.PHONY: build demo test bench fuzz fmt vet accuracy test-fresh clean build-tools test-tools

build: build-tools
	go build -o $(bin) ./cmd/nightpair

# Faulty clips are what the demo day is for, so exit code 1 is a success here.
demo: build
	rm -rf $(demo_day) $(demo_report)
	$(bin) demo $(demo_day)
	$(bin) check $(demo_day) --out $(demo_report) || [ $$? -eq 1 ]
	@echo "The morning page is $(CURDIR)/$(demo_report)/index.html"

# A busy machine takes longer than the ten minutes that go test gives a package.
test: test-tools vet
	go test -timeout 30m ./...

# The accuracy table: every drawn scene beside a general-purpose library's standard
# recipe; then all the tests in full. It takes half an hour and more of two cores.
accuracy: test-tools
	NIGHTPAIR_ACCURACY=1 go test -count=1 -timeout 3h -v -run '^TestAccuracy$$' ./metrics
	NIGHTPAIR_ACCURACY=1 go test -count=1 -timeout 3h -skip '^TestAccuracy$$' ./metrics ./qc ./qc/history ./qc/takes ./cmd/nightpair

# `make demo` and `make test` on a fresh machine: as root, a bare Debian 12 in a temporary
# folder, which is removed again.
test-fresh:
	@./testdata/install.sh mmdebstrap mount
	./testdata/fresh.sh

bench: test-tools
	go test -run '^$$' -bench . -benchmem ./...

# Each fuzz test for half a minute.
fuzz: build-tools
	@packages=$$(go list ./...) || exit 1; \
	for package in $$packages; do \
		names=$$(go test -list '^Fuzz' $$package) || exit 1; \
		for name in $$(echo "$$names" | grep '^Fuzz'); do \
			go test -run '^$$' -fuzz "^$$name\$$" -fuzztime 30s $$package || exit 1; \
		done; \
	done

fmt:
	gofmt -w .

# The second line guards the layers: measuring, judging and reporting build without FFmpeg.
vet: build-tools
	@files=$$(gofmt -l .) || exit 1; [ -z "$$files" ] || { echo "not gofmt'ed:"; echo "$$files"; exit 1; }
	CGO_ENABLED=0 go vet ./metrics/... ./qc/... ./reports/...
	go vet ./...

clean:
	rm -rf bin $(demo_day) $(demo_report)

build-tools:
	@./testdata/install.sh $(build_packages)

test-tools: build-tools
	@./testdata/install.sh $(test_packages)
