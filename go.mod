module nightpair

go 1.26.0

require (
	github.com/asticode/go-astiav v0.16.0
	github.com/spf13/cobra v1.10.2
	github.com/spf13/pflag v1.0.9
	github.com/stretchr/testify v1.12.1
	golang.org/x/image v0.30.0
	golang.org/x/term v0.48.0
	golang.org/x/text v0.28.0
	gonum.org/v1/gonum v0.17.0
)

require (
	github.com/asticode/go-astikit v0.42.0 // indirect
	github.com/inconshreveable/mousetrap v1.1.0 // indirect
	go.yaml.in/yaml/v3 v3.0.5 // indirect
	golang.org/x/sys v0.50.0 // indirect
)
