// Package client talks to a class server from the trainer, on a desktop through
// net/http, in a browser through its own fetch.
//
//	c := client.Client{Base: "http://192.168.1.20:8410"}
//	joined, err := c.Join(ctx, "4GAH 6AW7 PY0M", "Moonrake")
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
	"sync"
	"time"

	"slowneedle/audio/said"
	"slowneedle/drills"
	"slowneedle/drills/class/sheet"
)

// Joined is what a server says to a right class code.
type Joined struct {
	Code  string      `json:"code"`
	Title string      `json:"title"`
	Sheet sheet.Sheet `json:"sheet"`
	Token string      `json:"token"` // goes with what is sent later; a Client sees to that
	Late  bool        `json:"late"`  // the sheet is closed: hand-ins are marked late
	Taken bool        `json:"taken"` // somebody else goes by a name that looks the same
}

// Class is whose server it is.
type Class struct {
	Title  string `json:"title"`
	Roster bool   `json:"roster"` // there is a list of names to choose from
}

// Progress is how far a learner has come. It is shown on the teacher's board and
// kept nowhere; only a hand-in counts.
type Progress struct {
	Code  string `json:"code"`
	ID    string `json:"id"`    // of the hand-in that is being made
	Who   string `json:"who"`   // as in the hand-in
	Round int    `json:"round"` // being played, from 1; one more than there are when done
	Takes []Mark `json:"takes"` // of the rounds before it

	// Locked are the digests of the takes of an exam, which has no marks
	// (handin.Take.Digest). They lock them.
	Locked []string `json:"locked,omitempty"`
}

// Mark is one locked take of a Progress.
type Mark struct {
	ErrorDB  float64 `json:"error_db"`
	InWindow bool    `json:"in_window"`
	Points   int     `json:"points"`
}

// Standing is what a server says to a Progress.
type Standing struct {
	Together bool `json:"together"` // all wait until the teacher releases the next round
	Released int  `json:"released"` // the last round that may be played, if so
	Round    int  `json:"round"`    // of the Progress

	// Of an exam: what that round is, how many takes are locked, and whether it was
	// closed, so that no round follows.
	Drawn  *sheet.Drawn `json:"drawn,omitempty"`
	Locked int          `json:"locked,omitempty"`
	Over   bool         `json:"over,omitempty"`
}

// Verdicts are those of an exam, once it is over.
type Verdicts struct {
	Verdicts []drills.Verdict `json:"verdicts"` // in the order of play
}

// Receipt confirms that a hand-in is in the class's store for good.
type Receipt struct {
	ID     string `json:"id"`
	Known  bool   `json:"known"`  // it was there already
	Points int    `json:"points"` // of an exam that is not over 0
	Result string `json:"result"` // path of the page on which the learner can look at it again
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
	// Wait is how long to wait before sending again, the first time with 1.
	// Nil: Patiently.
	Wait func(attempt int) time.Duration
}

// RecordingTime is how long a recording may take to arrive.
const RecordingTime = 5 * time.Minute

const (
	answerTime = 20 * time.Second // after which any other answer is given up
	largest    = 1 << 20          // bytes of one that are read
)

// Statuses of HTTP (RFC 9110, RFC 6585) that a client tells apart.
const (
	statusOK           = 200
	statusCreated      = 201
	statusUnauthorized = 401
	statusTimeout      = 408
	statusTooEarly     = 425
	statusTooMany      = 429
	statusServerFault  = 500 // and those above
)

// TokenHeader carries the token of a learner who has joined.
const TokenHeader = "X-Class-Token"

// tokens are those given to this program: by address and class code those of
// learners who have joined and not begun, and with the id of a hand-in behind
// them the others.
var tokens sync.Map

// token returns the one that goes with a hand-in; it joins if there is none.
func (c *Client) token(ctx context.Context, code, id string) (string, error) {
	if t, ok := tokens.Load(c.Base + "\n" + code + "\n" + id); ok {
		return t.(string), nil
	}
	t, ok := tokens.LoadAndDelete(c.Base + "\n" + code)
	if !ok {
		j, err := c.join(ctx, code, "", id)
		if err != nil {
			return "", err
		}
		t = j.Token
	}
	tokens.Store(c.Base+"\n"+code+"\n"+id, t)
	return t.(string), nil
}

// Join asks for the sheet of a class code under a name. A wrong code gives
// *Refused. It does not send again.
func (c *Client) Join(ctx context.Context, code, who string) (Joined, error) {
	j, err := c.join(ctx, code, who, "")
	if err == nil {
		tokens.Store(c.Base+"\n"+j.Code, j.Token)
	}
	return j, err
}

// join joins, or goes on with the hand-in of an id.
func (c *Client) join(ctx context.Context, code, who, id string) (j Joined, err error) {
	err = c.get(ctx, "/api/sheet", url.Values{"code": {code}, "who": {who}, "id": {id}}, &j)
	return j, err
}

// send sends what belongs to a hand-in with the token of its class. Where there
// is none, or the server knows it no longer, it joins first. The error is that there is
// no answer, or that joining is refused.
func (c *Client) send(ctx context.Context, path, code, id string, body []byte) (a answer, err error) {
	for range 2 {
		token, err := c.token(ctx, code, id)
		if err != nil {
			return a, err
		}
		a, err = c.do(ctx, "POST", path, token, body)
		if err != nil || a.status != statusUnauthorized {
			return a, err
		}
		tokens.Delete(c.Base + "\n" + code + "\n" + id)
	}
	return a, nil
}

// Progress tells the board how far a learner is. It is not worth sending again:
// the next one says more.
func (c *Client) Progress(ctx context.Context, p Progress) (s Standing, err error) {
	text, err := json.Marshal(p)
	if err != nil {
		return s, err
	}
	a, err := c.send(ctx, "/api/progress", p.Code, p.ID, text)
	if err != nil {
		return s, err
	}
	err = a.read(&s)
	return s, err
}

// Class asks whose class it is.
func (c *Client) Class(ctx context.Context) (of Class, err error) {
	err = c.get(ctx, "/api/class", nil, &of)
	return of, err
}

// Verdicts asks for the verdicts on the hand-in of an id. While the exam is open the
// server refuses them (*Refused).
func (c *Client) Verdicts(ctx context.Context, id string) (v Verdicts, err error) {
	err = c.get(ctx, "/api/verdicts", url.Values{"id": {id}}, &v)
	return v, err
}

// Recording gets a recording of the sheet of a class code, whole.
func (c *Client) Recording(ctx context.Context, code string, r sheet.Recording) ([]byte, error) {
	query := url.Values{"code": {code}, "sha256": {r.SHA256}}
	a, err := c.ask(ctx, RecordingTime, sheet.MaxRecording, "GET", "/api/recording?"+query.Encode(), "", nil)
	if err == nil && a.status != statusOK {
		err = a.refusal()
	}
	return a.body, err
}

// Roster asks for names of the class in which a word begins with what was typed.
func (c *Client) Roster(ctx context.Context, code, typed string) (names []string, err error) {
	err = c.get(ctx, "/api/roster", url.Values{"code": {code}, "typed": {typed}}, &names)
	return names, err
}

// get asks for something once.
func (c *Client) get(ctx context.Context, path string, query url.Values, into any) error {
	a, err := c.do(ctx, "GET", path+"?"+query.Encode(), "", nil)
	if err != nil {
		return err
	}
	return a.read(into)
}

// HandIn sends a hand-in's file until the server says that it has it, the
// context ends, or the server refuses it (*Refused). Sending one again never
// doubles it.
func (c *Client) HandIn(ctx context.Context, file []byte) (Receipt, error) {
	var named struct {
		ID   string `json:"id"`
		Code string `json:"code"`
	}
	if err := json.Unmarshal(file, &named); err != nil || named.ID == "" {
		return Receipt{}, errors.New("this is no hand-in: it has no id")
	}
	for attempt := 1; ; attempt++ {
		a, err := c.send(ctx, "/api/handin", named.Code, named.ID, file)
		var r Receipt
		if err == nil && (a.status == statusOK || a.status == statusCreated) {
			// Anything between here and the class might answer 200; only the
			// hand-in's own name is an acknowledgement.
			if json.Unmarshal(a.body, &r) == nil && r.ID == named.ID {
				return r, nil
			}
			err = errors.New("what answered is not the class server")
		} else if err == nil {
			err = a.refusal()
		}
		var refused *Refused
		if errors.As(err, &refused) && !again(refused.Status) {
			return Receipt{}, err
		}
		if stop := c.pause(ctx, attempt, a.after); stop != nil {
			return Receipt{}, fmt.Errorf("the hand-in is not acknowledged yet (%w); last: %w", stop, err)
		}
	}
}

// again reports which answers are worth another try: what was wrong may pass, a
// store that is full included, for the teacher can make room.
func again(status int) bool {
	return status >= statusServerFault || status == statusTimeout || status == statusTooEarly || status == statusTooMany
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
	after  time.Duration // that the server asks to wait
}

// read reads what was asked for. The error is the server's refusal, or that the answer is
// none.
func (a answer) read(into any) error {
	if a.status != statusOK {
		return a.refusal()
	}
	if err := json.Unmarshal(a.body, into); err != nil {
		return fmt.Errorf("the class server's answer makes no sense: %w", err)
	}
	return nil
}

// retryAfter reads a header Retry-After: at most half a minute is waited.
func retryAfter(header string) time.Duration {
	n, err := strconv.Atoi(header)
	if err != nil {
		return 0
	}
	return time.Duration(max(0, min(n, 30))) * time.Second
}

// Patiently is the usual Wait: a quarter of a second, doubling up to eight
// seconds, each by a random part so that a class does not knock in step.
func Patiently(attempt int) time.Duration {
	d := min(250*time.Millisecond<<min(max(attempt, 1)-1, 5), 8*time.Second)
	return d/2 + rand.N(d)
}

// do sends one request and gives up after answerTime.
func (c *Client) do(ctx context.Context, method, path, token string, body []byte) (answer, error) {
	return c.ask(ctx, answerTime, largest, method, path, token, body)
}

// ask sends one request and gives up after a time, and on more bytes than are wanted.
func (c *Client) ask(ctx context.Context, within time.Duration, most int64, method, path, token string, body []byte) (answer, error) {
	ctx, cancel := context.WithTimeout(ctx, within)
	defer cancel()
	a, err := exchange(ctx, method, strings.TrimSuffix(c.Base, "/")+path, token, body, most)
	if err != nil {
		return answer{}, fmt.Errorf("the class server does not answer: %w", err)
	}
	if int64(len(a.body)) > most {
		return answer{}, errors.New("the class server's answer is too long to be one")
	}
	return a, nil
}
