package main

import (
	"context"
	"errors"
	"net/http"
	"time"

	"github.com/prometheus/client_golang/prometheus"
	"github.com/prometheus/client_golang/prometheus/collectors"
	"github.com/prometheus/client_golang/prometheus/promhttp"

	"bagwatch/bot"
	"bagwatch/bot/telegram"
	"bagwatch/internal/store"
)

// metrics are the figures of /metrics. None has a chat, a person or a text in a label: who may look at a
// dashboard is not who may look into a kitchen.
type metrics struct {
	registry *prometheus.Registry
	late     prometheus.Histogram
	calls    *prometheus.HistogramVec
	failures *prometheus.CounterVec
}

// Buckets in seconds: of lateness from what nobody notices to an outage over night, of store calls from a
// round trip on one machine to the timeout.
var (
	lateBuckets  = []float64{0.025, 0.05, 0.1, 0.15, 0.25, 0.5, 1, 2.5, 5, 15, 60, 300, 1800, 7200, 28800}
	storeBuckets = []float64{0.0001, 0.00025, 0.0005, 0.001, 0.0025, 0.005, 0.01, 0.025, 0.1, 0.5, 2}
)

func newMetrics() *metrics {
	m := &metrics{
		registry: prometheus.NewRegistry(),
		late: prometheus.NewHistogram(prometheus.HistogramOpts{
			Name: "bagwatch_alert_lateness_seconds", Help: "How late alerts were sent, by what was longest due in a message.", Buckets: lateBuckets,
		}),
		calls: prometheus.NewHistogramVec(prometheus.HistogramOpts{
			Name: "bagwatch_store_seconds", Help: "Duration of calls to the store.", Buckets: storeBuckets,
		}, []string{"call"}),
		failures: prometheus.NewCounterVec(prometheus.CounterOpts{
			Name: "bagwatch_store_failures_total", Help: "Calls to the store that did not work.",
		}, []string{"call"}),
	}
	info := prometheus.NewGauge(prometheus.GaugeOpts{
		Name: "bagwatch_build_info", Help: "Always 1.", ConstLabels: prometheus.Labels{"version": version()},
	})
	info.Set(1)
	m.registry.MustRegister(m.late, m.calls, m.failures, info,
		collectors.NewGoCollector(), collectors.NewProcessCollector(collectors.ProcessCollectorOpts{}))
	return m
}

// handler serves /metrics.
func (m *metrics) handler() http.Handler {
	mux := http.NewServeMux()
	mux.Handle("GET /metrics", promhttp.HandlerFor(m.registry, promhttp.HandlerOpts{}))
	return mux
}

// count registers a figure that somebody else counts.
func (m *metrics) count(name, help string, read func() int64) {
	m.registry.MustRegister(prometheus.NewCounterFunc(prometheus.CounterOpts{Name: "bagwatch_" + name, Help: help},
		func() float64 { return float64(read()) }))
}

func (m *metrics) gauge(name, help string, read func() float64) {
	m.registry.MustRegister(prometheus.NewGaugeFunc(prometheus.GaugeOpts{Name: "bagwatch_" + name, Help: help}, read))
}

// watch registers the figures of the conversation, the platform and the alerts.
func (m *metrics) watch(b *bot.Bot, p *telegram.Adapter, a *bot.Alerts, s keeper, now func() time.Time) {
	m.count("answers_total", "Plans that were shown.", func() int64 { return b.Counts().Answers })
	m.count("refusals_total", "Requests that a rule refused.", func() int64 { return b.Counts().Refused })
	m.count("parse_failures_total", "Messages that were not understood.", func() int64 { return b.Counts().Unread })
	m.count("limited_total", "Messages and presses left out, since they came too fast.", func() int64 { return b.Counts().Limited })
	m.count("broken_total", "Messages and presses that ended with an apology.", func() int64 { return b.Counts().Broken })

	m.count("updates_total", "Updates from the platform.", func() int64 { return p.Counts().Updates })
	m.count("updates_undecodable_total", "Updates that could not be decoded and were skipped.", func() int64 { return p.Counts().Skipped })
	m.count("webhook_strangers_total", "Webhook requests with a wrong secret.", func() int64 { return p.Counts().Strangers })
	m.count("platform_calls_total", "Requests to the platform, each try.", func() int64 { return p.Counts().Calls })
	m.count("platform_busy_total", "Answers of the platform that told us to wait (429).", func() int64 { return p.Counts().Busy })
	m.count("platform_retries_total", "Requests to the platform repeated after a failure.", func() int64 { return p.Counts().Retries })

	m.count("alerts_sent_total", "Messages with news that were sent.", func() int64 { return a.Counts().Sent })
	m.count("alert_items_total", "Pieces of news in them.", func() int64 { return a.Counts().Items })
	m.count("alerts_repeated_total", "Messages marked as possible repeats.", func() int64 { return a.Counts().Again })
	m.count("alerts_failed_total", "Sends that went wrong and are tried again.", func() int64 { return a.Counts().Failed })
	m.count("alerts_dead_total", "Messages given up.", func() int64 { return a.Counts().Dead })
	m.count("chats_parked_total", "Chats that turned out not to be writable.", func() int64 { return a.Counts().Parked })
	m.gauge("alert_partitions", "Partitions whose alerts this process carries out.", func() float64 { return float64(a.Counts().Partitions) })
	m.gauge("alerts_due", "Chats with news that is due and not told, up to 1000, of all processes; -1 when the store does not answer.",
		func() float64 { return due(s, now()) })
}

// dueShown bounds how far the due list is read for a figure.
const dueShown = 1000

// due counts the chats that are due. Lateness is the figure to alarm on; this one tells how far behind.
func due(s keeper, now time.Time) float64 {
	all := make([]int, store.Partitions)
	for i := range all {
		all[i] = i
	}
	ctx, cancel := context.WithTimeout(context.Background(), time.Second)
	defer cancel()
	list, _, err := s.Due(ctx, all, now, dueShown)
	if err != nil {
		return -1
	}
	return float64(len(list))
}

// told is for bot.AlertConfig.Told.
func (m *metrics) told(t bot.Telling) { m.late.Observe(t.Late.Seconds()) }

// measured is a store whose calls are timed.
type measured struct {
	keeper
	m *metrics
}

// done notes a call. A conflict, a fence and an absent document are answers.
func (s measured) done(call string, began time.Time, err error) {
	s.m.calls.WithLabelValues(call).Observe(time.Since(began).Seconds())
	if err != nil && !errors.Is(err, store.ErrNone) && !errors.Is(err, store.ErrConflict) && !errors.Is(err, store.ErrFenced) {
		s.m.failures.WithLabelValues(call).Inc()
	}
}

// Load reads a document.
func (s measured) Load(ctx context.Context, chat store.ChatID) (store.Document, error) {
	began := time.Now()
	d, err := s.keeper.Load(ctx, chat)
	s.done("load", began, err)
	return d, err
}

// Save commits a document.
func (s measured) Save(ctx context.Context, chat store.ChatID, doc store.Document, fence store.Fence) (uint64, error) {
	began := time.Now()
	revision, err := s.keeper.Save(ctx, chat, doc, fence)
	s.done("save", began, err)
	return revision, err
}

// Due reads the due list.
func (s measured) Due(ctx context.Context, partitions []int, now time.Time, limit int) ([]store.DueEntry, time.Time, error) {
	began := time.Now()
	list, next, err := s.keeper.Due(ctx, partitions, now, limit)
	s.done("due", began, err)
	return list, next, err
}

// Renew prolongs leases.
func (s measured) Renew(ctx context.Context, leases []store.Lease, ttl time.Duration) ([]store.Lease, error) {
	began := time.Now()
	kept, err := s.keeper.Renew(ctx, leases, ttl)
	s.done("renew", began, err)
	return kept, err
}
