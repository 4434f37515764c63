//go:build !js

package server

import (
	"bytes"
	"fmt"
	"net/http"
	"slices"
	"sync"
	"testing"
	"time"

	"slowneedle/drills"
	"slowneedle/drills/class/client"
	"slowneedle/drills/class/demo"
	"slowneedle/drills/class/sheet"
)

// BenchmarkAtOnce is a class that hands in ten rounds at the same moment, over
// the network of this machine: how long the slowest of a hundred waits until the
// server has it on the disk.
func BenchmarkAtOnce(b *testing.B) {
	sh := testSheet()
	sh.Rounds = 10
	rig := drills.DigitalRig()
	sh.Rig = &rig
	at, err := demo.NewSeat(&bench, sh)
	if err != nil {
		b.Fatal(err)
	}
	for _, n := range []int{30, 300, 1000} {
		var files [][]byte
		for _, l := range demo.Class(9, n) {
			h, err := at.HandIn(l, 9, 0, "slowneedle test", evening)
			if err != nil {
				b.Fatal(err)
			}
			data, err := h.File()
			if err != nil {
				b.Fatal(err)
			}
			files = append(files, data)
		}
		b.Run(fmt.Sprint(n), func(b *testing.B) {
			var waits []time.Duration
			for b.Loop() {
				waits = append(waits, handInAtOnce(b, sh, files)...)
			}
			slices.Sort(waits)
			b.ReportMetric(waits[len(waits)/2].Seconds(), "s-p50")
			b.ReportMetric(waits[len(waits)*99/100].Seconds(), "s-p99")
			b.ReportMetric(0, "ns/op")
		})
	}
}

func handInAtOnce(b *testing.B, sh sheet.Sheet, files [][]byte) []time.Duration {
	b.StopTimer()
	defer b.StartTimer()
	s, web := open(b, Options{Sheets: []sheet.Sheet{sh}, Limits: Limits{PerSecond: 1e6, Burst: 1e6, PerAddress: 1e6}})
	for i := range sh.Rounds { // made before the lesson, as by the first who plays
		if _, err := s.cache.Exercise(sh, i); err != nil {
			b.Fatal(err)
		}
	}
	hc := &http.Client{Transport: &http.Transport{MaxIdleConnsPerHost: len(files)}}
	defer hc.CloseIdleConnections()
	waits := make([]time.Duration, len(files))
	var ready, done sync.WaitGroup
	start := make(chan struct{})
	for i, data := range files {
		token := s.quotas.join("10.0.0.1:1")
		ready.Add(1)
		done.Go(func() {
			req, err := http.NewRequest("POST", web.URL+"/api/handin", bytes.NewReader(data))
			if err != nil {
				b.Error(err)
			}
			req.Header.Set(client.TokenHeader, token)
			ready.Done()
			<-start
			from := time.Now()
			resp, err := hc.Do(req)
			if err != nil {
				b.Error(err)
				return
			}
			defer resp.Body.Close()
			waits[i] = time.Since(from)
			if resp.StatusCode != http.StatusCreated {
				b.Error(resp.Status)
			}
		})
	}
	ready.Wait()
	close(start)
	done.Wait()
	return waits
}
