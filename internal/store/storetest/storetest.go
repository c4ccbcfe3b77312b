// Package storetest starts Redis servers for tests: one ([StartRedis]) or a cluster of
// three ([StartCluster]), on free loopback ports, in the test's own directory, ended
// with the test. Every write is synced to disk before it is acknowledged.
//
// Where no redis-server is found, the test is skipped, and fails if CI is set.
package storetest

import (
	"bufio"
	"fmt"
	"net"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"
)

// Server is a running redis-server.
type Server struct {
	// URL is its address for store.Config and REDIS_URL.
	URL string
	// Addr is host and port.
	Addr string

	t    testing.TB
	dir  string
	args []string

	mu  sync.Mutex
	cmd *exec.Cmd
}

// StartRedis starts one server with appendonly yes and appendfsync always; args are
// further settings such as "--maxmemory-policy", "allkeys-lru", which win over these.
func StartRedis(t testing.TB, args ...string) *Server {
	t.Helper()
	s := start(t, args...)
	s.URL = "redis://" + s.Addr
	return s
}

// Cluster is a running cluster of three masters that share the slots.
type Cluster struct {
	// URL is its address for store.Config and REDIS_URL.
	URL   string
	Nodes []*Server
}

// StartCluster starts three servers as one cluster and waits until it serves.
func StartCluster(t testing.TB) *Cluster {
	t.Helper()
	c := &Cluster{}
	var addrs, buses []string
	for range 3 {
		_, bus := freePort(t)
		c.Nodes = append(c.Nodes, start(t, "--cluster-enabled", "yes", "--cluster-port", bus, "--cluster-node-timeout", "2000"))
		addrs = append(addrs, c.Nodes[len(c.Nodes)-1].Addr)
		buses = append(buses, bus)
	}
	const slots = 16384
	for i, n := range c.Nodes {
		must(t, n, "CLUSTER ADDSLOTSRANGE %d %d", i*slots/3, (i+1)*slots/3-1)
		must(t, n, "CLUSTER SET-CONFIG-EPOCH %d", i+1)
	}
	for i, n := range c.Nodes[1:] {
		host, port, _ := net.SplitHostPort(n.Addr)
		must(t, c.Nodes[0], "CLUSTER MEET %s %s %s", host, port, buses[i+1])
	}
	for _, n := range c.Nodes {
		wait(t, "the cluster to form", func() bool {
			info, err := n.Do("CLUSTER INFO")
			return err == nil && strings.Contains(info, "cluster_state:ok") &&
				strings.Contains(info, "cluster_known_nodes:3") && strings.Contains(info, "cluster_slots_ok:16384")
		})
	}
	c.URL = "redis+cluster://" + strings.Join(addrs, ",")
	return c
}

// StartSentinel starts a server and a sentinel that watches it under the name quay,
// and returns the server with the URL of the sentinel.
func StartSentinel(t testing.TB) *Server {
	t.Helper()
	s := start(t)
	host, port, _ := net.SplitHostPort(s.Addr)
	file := filepath.Join(t.TempDir(), "sentinel.conf") // it rewrites its own file
	if err := os.WriteFile(file, fmt.Appendf(nil, "sentinel monitor quay %s %s 1\n", host, port), 0o600); err != nil {
		t.Fatal(err)
	}
	watch := &Server{t: t, dir: t.TempDir()}
	host, port = freePort(t)
	watch.Addr = net.JoinHostPort(host, port)
	watch.args = []string{file, "--sentinel", "--bind", host, "--port", port, "--dir", watch.dir, "--logfile", filepath.Join(watch.dir, "log")}
	t.Cleanup(watch.Kill)
	watch.Start()
	s.URL = "redis+sentinel://" + watch.Addr + "/quay"
	return s
}

func must(t testing.TB, s *Server, format string, args ...any) {
	t.Helper()
	if reply, err := s.Do(fmt.Sprintf(format, args...)); err != nil || reply != "OK" {
		t.Fatalf("redis-server answered %q, %v to %s", reply, err, fmt.Sprintf(format, args...))
	}
}

func start(t testing.TB, args ...string) *Server {
	t.Helper()
	if _, err := exec.LookPath("redis-server"); err != nil {
		if os.Getenv("CI") != "" {
			t.Fatal("no redis-server found, and CI must have one")
		}
		t.Skip("no redis-server found")
	}
	host, port := freePort(t)
	s := &Server{t: t, Addr: net.JoinHostPort(host, port), dir: t.TempDir()}
	s.args = append([]string{
		"--bind", host, "--port", port, "--dir", s.dir, "--save", "", "--daemonize", "no",
		"--appendonly", "yes", "--appendfsync", "always", "--logfile", filepath.Join(s.dir, "log"),
	}, args...)
	t.Cleanup(s.Kill)
	s.Start()
	return s
}

// freePort asks the system for a port nobody uses.
func freePort(t testing.TB) (host, port string) {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	defer l.Close()
	return "127.0.0.1", strconv.Itoa(l.Addr().(*net.TCPAddr).Port)
}

// Start starts the server, again after [Server.Kill], and waits until it answers.
func (s *Server) Start() {
	s.t.Helper()
	s.mu.Lock()
	defer s.mu.Unlock()
	s.cmd = exec.Command("redis-server", s.args...)
	if err := s.cmd.Start(); err != nil {
		s.t.Fatal(err)
	}
	wait(s.t, "redis-server to answer", func() bool {
		reply, err := s.Do("PING")
		return err == nil && reply == "PONG"
	})
}

// Kill ends the server as a crash would (SIGKILL). What it had acknowledged is on disk.
func (s *Server) Kill() {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.cmd == nil {
		return
	}
	if err := s.cmd.Process.Kill(); err != nil {
		s.t.Errorf("kill redis-server: %v", err)
	}
	_ = s.cmd.Wait() // reports the kill
	s.cmd = nil
}

// Do sends one command, its words separated by blanks, on a connection of its own and
// returns the reply: a status, a number, or a bulk text.
func (s *Server) Do(command string) (string, error) {
	c, err := net.DialTimeout("tcp", s.Addr, time.Second)
	if err != nil {
		return "", err
	}
	defer c.Close()
	if err := c.SetDeadline(time.Now().Add(10 * time.Second)); err != nil {
		return "", err
	}
	if _, err := fmt.Fprintf(c, "%s\r\n", command); err != nil {
		return "", err
	}
	r := bufio.NewReader(c)
	line, err := r.ReadString('\n')
	if err != nil {
		return "", err
	}
	line = strings.TrimRight(line, "\r\n")
	kind, rest := line[:1], line[1:]
	switch kind {
	case "-":
		return "", fmt.Errorf("redis: %s", rest)
	case "$":
		n, err := strconv.Atoi(rest)
		if err != nil || n < 0 {
			return "", err
		}
		text := make([]byte, n)
		for have := 0; have < n; {
			k, err := r.Read(text[have:])
			if err != nil {
				return "", err
			}
			have += k
		}
		return string(text), nil
	}
	return rest, nil
}

// UsedMemory is used_memory of INFO in bytes.
func (s *Server) UsedMemory() (int64, error) {
	info, err := s.Do("INFO memory")
	if err != nil {
		return 0, err
	}
	_, rest, _ := strings.Cut(info, "used_memory:")
	number, _, _ := strings.Cut(rest, "\r\n")
	return strconv.ParseInt(number, 10, 64)
}

// wait polls until ready says so, for a quarter of a minute at most.
func wait(t testing.TB, what string, ready func() bool) {
	t.Helper()
	for end := time.Now().Add(15 * time.Second); time.Now().Before(end); time.Sleep(10 * time.Millisecond) {
		if ready() {
			return
		}
	}
	t.Fatalf("waited in vain for %s", what)
}
