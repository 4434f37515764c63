// Package client talks to a class server from the trainer, on a desktop through
// net/http, in a browser through its own fetch.
//
//	c := client.Client{Base: "http://192.168.1.20:8410"}
//	joined, err := c.Sheet(ctx, "4GAH 6AW7 PY0M")
//	...
//	receipt, err := c.HandIn(ctx, file) // returns once the server has it for good
package client

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"math/rand/v2"
	"net/url"
	"strconv"
	"strings"
	"time"

	"slowneedle/audio/said"
	"slowneedle/drills/class/sheet"
)

// Joined is what a server says to a right class code.
type Joined struct {
	Code  string      `json:"code"`
	Title string      `json:"title"`
	Words string      `json:"words"` // what the sheet asks for, in a line
	Sheet sheet.Sheet `json:"sheet"`
}

// Progress is how far a learner has come. It is shown on the teacher's board and
// kept nowhere; only a hand-in counts.
type Progress struct {
	Code  string `json:"code"`
	ID    string `json:"id"`    // of the hand-in that is being made
	Who   string `json:"who"`   // as in the hand-in
	Round int    `json:"round"` // being played, from 1; one more than there are when done
	Takes []Mark `json:"takes"` // of the rounds before it
}

// Mark is one locked take of a Progress.
type Mark struct {
	ErrorDB  float64 `json:"error_db"`
	InWindow bool    `json:"in_window"`
	Points   int     `json:"points"`
}

// Receipt says that a hand-in is in the class's store for good.
type Receipt struct {
	ID     string `json:"id"`
	Known  bool   `json:"known"` // it was there already
	Points int    `json:"points"`
}

// Refused is the error of a request that the server will not take, however often
// it is sent.
type Refused struct {
	Status int           // of HTTP
	Says   string        // the server's sentence
	Why    said.Sentence // the same with its code, if the server gives it
}

func (e *Refused) Error() string { return "the class server refuses it: " + e.Says }

// Client talks to one server. Base is its address; the rest may be left zero.
type Client struct {
	Base string // as in "http://192.168.1.20:8410"; in a browser the page's own origin
	// Wait says how long to wait before sending again, the first time with 1.
	// Nil: Patiently.
	Wait func(attempt int) time.Duration
}

const (
	answerTime = 20 * time.Second // after which an answer is given up
	largest    = 1 << 20          // bytes of an answer that are read
)

// Statuses of HTTP (RFC 9110, RFC 6585) that a client tells apart.
const (
	statusOK           = 200
	statusCreated      = 201
	statusNoContent    = 204
	statusTimeout      = 408
	statusTooEarly     = 425
	statusTooMany      = 429
	statusServerFault  = 500
	statusBadGateway   = 502
	statusUnavailable  = 503
	statusGatewayFault = 504
)

// Sheet asks for the sheet of a class code. A wrong code gives *Refused. It does
// not send again.
func (c *Client) Sheet(ctx context.Context, code string) (Joined, error) {
	var j Joined
	status, body, _, err := c.do(ctx, "GET", "/api/sheet?code="+url.QueryEscape(code), nil)
	if err != nil {
		return j, err
	}
	if status != statusOK {
		return j, refusal(status, body)
	}
	if err := json.Unmarshal(body, &j); err != nil {
		return Joined{}, fmt.Errorf("the class server's answer makes no sense: %w", err)
	}
	return j, nil
}

// Progress tells the board how far a learner is. It is not worth sending again:
// the next one says more.
func (c *Client) Progress(ctx context.Context, p Progress) error {
	text, err := json.Marshal(p)
	if err != nil {
		return err
	}
	status, body, _, err := c.do(ctx, "POST", "/api/progress", text)
	if err != nil {
		return err
	}
	if status != statusNoContent {
		return refusal(status, body)
	}
	return nil
}

// HandIn sends a hand-in's file until the server says that it has it, the
// context ends, or the server refuses it (*Refused). Sending one again never
// doubles it.
func (c *Client) HandIn(ctx context.Context, file []byte) (Receipt, error) {
	var named struct {
		ID string `json:"id"`
	}
	if err := json.Unmarshal(file, &named); err != nil || named.ID == "" {
		return Receipt{}, errors.New("this is no hand-in: it has no id")
	}
	for attempt := 1; ; attempt++ {
		status, body, after, err := c.do(ctx, "POST", "/api/handin", file)
		var r Receipt
		switch {
		case err != nil:
		case status == statusOK || status == statusCreated:
			// Anything between here and the class might answer 200; only the
			// hand-in's own name is an acknowledgement.
			if json.Unmarshal(body, &r) == nil && r.ID == named.ID {
				return r, nil
			}
			err = errors.New("what answered is not the class server")
		case !again(status):
			return Receipt{}, refusal(status, body)
		default:
			err = refusal(status, body)
		}
		if stop := c.pause(ctx, attempt, after); stop != nil {
			return Receipt{}, fmt.Errorf("the hand-in is not acknowledged yet (%w); last: %w", stop, err)
		}
	}
}

// again says which answers are worth another try.
func again(status int) bool {
	switch status {
	case statusTimeout, statusTooEarly, statusTooMany, statusServerFault,
		statusBadGateway, statusUnavailable, statusGatewayFault:
		return true
	}
	return false
}

func (c *Client) pause(ctx context.Context, attempt int, after time.Duration) error {
	wait := c.Wait
	if wait == nil {
		wait = Patiently
	}
	timer := time.NewTimer(max(after, wait(attempt)))
	defer timer.Stop()
	select {
	case <-ctx.Done():
		return ctx.Err()
	case <-timer.C:
		return nil
	}
}

// answer is what came back for a request.
type answer struct {
	status int
	body   []byte
	after  string // the header Retry-After
}

// Patiently is the usual Wait: a quarter of a second, doubling up to eight
// seconds, each by a random part so that a class does not knock in step.
func Patiently(attempt int) time.Duration {
	d := min(250*time.Millisecond<<min(max(attempt, 1)-1, 5), 8*time.Second)
	return d/2 + rand.N(d)
}

// do sends one request and gives up after answerTime. after is how long the
// server asks to wait.
func (c *Client) do(ctx context.Context, method, path string, body []byte) (status int, text []byte, after time.Duration, err error) {
	ctx, cancel := context.WithTimeout(ctx, answerTime)
	defer cancel()
	a, err := send(ctx, method, strings.TrimSuffix(c.Base, "/")+path, body)
	if err != nil {
		return 0, nil, 0, fmt.Errorf("the class server does not answer: %w", err)
	}
	if len(a.body) > largest {
		return 0, nil, 0, errors.New("the class server's answer is too long to be one")
	}
	if n, err := strconv.Atoi(a.after); err == nil && n > 0 {
		after = time.Duration(min(n, 30)) * time.Second
	}
	return a.status, a.body, after, nil
}
