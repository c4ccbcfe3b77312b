package store

import (
	"crypto/tls"
	"errors"
	"fmt"
	"net"
	"net/url"
	"strconv"
	"strings"

	"github.com/redis/go-redis/v9"
)

var errURL = errors.New("store: Redis address not understood")

// parseURL reads the address of a Redis. Understood are
//
//	redis://[user:password@]host[:port][/db]                    one server
//	unix://[user:password@]/path/to/socket[?db=n]               one server, local socket
//	redis+cluster://[user:password@]host[:port],host[:port]…    a cluster (any of its nodes)
//	redis+sentinel://[user:password@]host[:port],…/master[/db]  sentinels that watch master
//	    [?sentinel_user=name&sentinel_password=word]            if they ask for their own
//
// with rediss instead of redis for TLS. redis:// with several hosts is a cluster, too.
// Characters of the password that mean something in an address are percent-encoded.
// Errors do not repeat the address, since it may hold a password.
func parseURL(text string) (*redis.UniversalOptions, error) {
	scheme, rest, ok := strings.Cut(text, "://")
	if !ok {
		return nil, fmt.Errorf("no scheme such as redis://: %w", errURL)
	}
	rest, rawQuery, _ := strings.Cut(rest, "?")
	query, err := url.ParseQuery(rawQuery)
	if err != nil {
		return nil, fmt.Errorf("query: %w", errURL)
	}
	opt := &redis.UniversalOptions{}
	if i := strings.LastIndex(rest, "@"); i >= 0 {
		if opt.Username, opt.Password, err = credentials(rest[:i]); err != nil {
			return nil, err
		}
		rest = rest[i+1:]
	}
	base, kind, _ := strings.Cut(scheme, "+")
	if base == "rediss" {
		opt.TLSConfig = &tls.Config{MinVersion: tls.VersionTLS12} // the name to verify is each node's own
	}
	if scheme == "unix" {
		opt.Addrs = []string{rest}
		if !strings.HasPrefix(rest, "/") {
			return nil, fmt.Errorf("socket path not absolute: %w", errURL)
		}
		opt.DB, err = database(query.Get("db"))
		return opt, errors.Join(err, unknown(query, "db"))
	}
	if base != "redis" && base != "rediss" {
		return nil, fmt.Errorf("scheme not redis, rediss or unix: %w", errURL)
	}
	hosts, path, _ := strings.Cut(rest, "/")
	port := "6379"
	if kind == "sentinel" {
		port = "26379"
	}
	for host := range strings.SplitSeq(hosts, ",") {
		addr, err := address(host, port)
		if err != nil {
			return nil, err
		}
		opt.Addrs = append(opt.Addrs, addr)
	}
	switch {
	case kind == "sentinel":
		master, db, _ := strings.Cut(path, "/")
		if master == "" {
			return nil, fmt.Errorf("no master name after the sentinels: %w", errURL)
		}
		opt.MasterName = master
		opt.SentinelUsername, opt.SentinelPassword = query.Get("sentinel_user"), query.Get("sentinel_password")
		opt.DB, err = database(db)
		return opt, errors.Join(err, unknown(query, "sentinel_user", "sentinel_password"))
	case kind == "cluster", kind == "" && len(opt.Addrs) > 1:
		if path != "" && path != "0" {
			return nil, fmt.Errorf("a cluster has no numbered databases: %w", errURL)
		}
		opt.IsClusterMode = true
		return opt, unknown(query)
	case kind == "":
		opt.DB, err = database(path)
		return opt, errors.Join(err, unknown(query))
	}
	return nil, fmt.Errorf("neither +cluster nor +sentinel: %w", errURL)
}

func credentials(text string) (user, password string, err error) {
	user, password, _ = strings.Cut(text, ":")
	if user, err = url.PathUnescape(user); err == nil {
		password, err = url.PathUnescape(password)
	}
	if err != nil {
		return "", "", fmt.Errorf("user or password badly encoded: %w", errURL)
	}
	return user, password, nil
}

func address(host, port string) (string, error) {
	if h, p, err := net.SplitHostPort(host); err == nil {
		host, port = h, p
	} else {
		host = strings.TrimSuffix(strings.TrimPrefix(host, "["), "]")
	}
	n, err := strconv.ParseUint(port, 10, 16)
	if host == "" || err != nil || n == 0 {
		return "", fmt.Errorf("host or port: %w", errURL)
	}
	return net.JoinHostPort(host, port), nil
}

func database(text string) (int, error) {
	if text == "" {
		return 0, nil
	}
	n, err := strconv.ParseUint(text, 10, 16)
	if err != nil {
		return 0, fmt.Errorf("database not a number: %w", errURL)
	}
	return int(n), nil
}

func unknown(query url.Values, known ...string) error {
	for _, k := range known {
		query.Del(k)
	}
	if len(query) > 0 {
		return fmt.Errorf("%d unknown parameters: %w", len(query), errURL)
	}
	return nil
}
