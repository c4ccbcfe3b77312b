module bagwatch

go 1.26.0

require (
	github.com/BurntSushi/toml v1.6.0 // indirect
	github.com/alicebob/miniredis/v2 v2.40.0 // indirect
	github.com/cespare/xxhash/v2 v2.3.0 // indirect
	github.com/go-telegram/bot v1.19.0 // indirect
	github.com/nicksnyder/go-i18n/v2 v2.7.0 // indirect
	github.com/redis/go-redis/v9 v9.23.0 // indirect
	github.com/santhosh-tekuri/jsonschema/v6 v6.0.3 // indirect
	github.com/stretchr/testify v1.12.1 // indirect
	github.com/yuin/gopher-lua v1.1.1 // indirect
	go.uber.org/atomic v1.12.0 // indirect
	go.uber.org/goleak v1.3.0 // indirect
	go.yaml.in/yaml/v3 v3.0.5 // indirect
	golang.org/x/sys v0.48.0 // indirect
	golang.org/x/text v0.44.0 // indirect
	pgregory.net/rapid v1.3.0 // indirect
)
