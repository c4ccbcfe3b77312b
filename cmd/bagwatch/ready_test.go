package main

import (
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestReadyAsksTheRunningProgram(t *testing.T) {
	status := http.StatusOK
	server := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		assert.Equal(t, "/readyz", r.URL.Path)
		w.WriteHeader(status)
	}))
	address := strings.TrimPrefix(server.URL, "http://")
	ask := func() (int, string) {
		var out, errs strings.Builder
		none := func(string) (string, bool) { return "", false }
		code := run(t.Context(), []string{"ready", "--listen", address}, environment{lookup: none, in: strings.NewReader(""), out: &out, err: &errs})
		return code, out.String() + errs.String()
	}
	code, said := ask()
	assert.Equal(t, exitOK, code, said)
	status = http.StatusServiceUnavailable
	code, said = ask()
	assert.Equal(t, exitFailed, code)
	assert.Contains(t, said, "not ready: 503")
	server.Close()
	code, said = ask()
	assert.Equal(t, exitFailed, code)
	assert.Contains(t, said, "not reached")
}
