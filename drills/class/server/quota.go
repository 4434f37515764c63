//go:build !js

package server

import (
	"crypto/hmac"
	"crypto/rand"
	"crypto/sha256"
	"encoding/base32"
	"net"
	"slices"
	"strings"
	"sync"
	"time"
)

// quotas bound what one address and one learner may do: requests and joins of an
// address come out of buckets that fill evenly, and a learner's token, given out
// at joining, is good for a few hand-ins.
type quotas struct {
	limits Limits
	secret []byte // by which tokens are known after a restart
	now    func() time.Time

	mu        sync.Mutex
	addresses map[string]*account
	tokens    map[string][]string // ids begun with each
}

// account is what is left to one address.
type account struct {
	requests, joins bucket
	warned          time.Time
}

// bucket holds up to a number of things and fills evenly.
type bucket struct {
	left float64
	at   time.Time
}

// take takes one out of a bucket of a size that so many a second flow into.
func (b *bucket) take(size, perSecond float64, now time.Time) bool {
	if b.at.IsZero() {
		b.left = size
	}
	b.left = min(size, b.left+perSecond*max(now.Sub(b.at).Seconds(), 0))
	b.at = now
	if b.left < 1 {
		return false
	}
	b.left--
	return true
}

const (
	mostAddresses = 4096
	mostTokens    = 50000
	idsPerToken   = 3 // a learner may start again twice
	warnEvery     = 10 * time.Second
	joinsRefill   = 12 * time.Hour // in which an address's joins are all there again
)

func newQuotas(l Limits, secret []byte, now func() time.Time) *quotas {
	return &quotas{limits: l, secret: secret, now: now, addresses: make(map[string]*account), tokens: make(map[string][]string)}
}

// account returns that of an address. Of too many, those whose buckets are full
// again are forgotten first; if there are none, all: so many are not a class.
func (q *quotas) account(remote string) *account {
	host, _, err := net.SplitHostPort(remote)
	if err != nil {
		host = remote
	}
	a := q.addresses[host]
	if a == nil {
		if len(q.addresses) >= mostAddresses {
			for h, a := range q.addresses {
				if q.now().Sub(a.requests.at).Seconds()*q.limits.PerSecond >= float64(q.limits.Burst) && a.joins.at.IsZero() {
					delete(q.addresses, h)
				}
			}
		}
		if len(q.addresses) >= mostAddresses {
			clear(q.addresses)
		}
		a = new(account)
		q.addresses[host] = a
	}
	return a
}

// pass reports whether a request may go on; if not, first tells that it is worth
// a log line.
func (q *quotas) pass(remote string) (ok, first bool) {
	q.mu.Lock()
	defer q.mu.Unlock()
	a := q.account(remote)
	if a.requests.take(float64(q.limits.Burst), q.limits.PerSecond, q.now()) {
		return true, false
	}
	if q.now().Sub(a.warned) >= warnEvery {
		a.warned = q.now()
		return false, true
	}
	return false, false
}

// join gives a token to a learner at an address, or "" if too many joined there.
func (q *quotas) join(remote string) string {
	q.mu.Lock()
	defer q.mu.Unlock()
	most := float64(q.limits.PerAddress)
	if !q.account(remote).joins.take(most, most/joinsRefill.Seconds(), q.now()) {
		return ""
	}
	nonce := rand.Text()[:16]
	return nonce + q.sign(nonce)
}

func (q *quotas) sign(nonce string) string {
	m := hmac.New(sha256.New, q.secret)
	m.Write([]byte(nonce))
	return strings.ToLower(base32.StdEncoding.EncodeToString(m.Sum(nil))[:16])
}

// genuine reports whether this server gave out a token.
func (q *quotas) genuine(token string) bool {
	return len(token) == 32 && hmac.Equal([]byte(q.sign(token[:16])), []byte(token[16:]))
}

// use counts a hand-in's id on a token, and reports whether it may be used.
func (q *quotas) use(token, id string) bool {
	q.mu.Lock()
	defer q.mu.Unlock()
	ids := q.tokens[token]
	switch {
	case slices.Contains(ids, id):
		return true
	case len(ids) >= idsPerToken || ids == nil && len(q.tokens) >= mostTokens:
		return false
	}
	q.tokens[token] = append(ids, id)
	return true
}
