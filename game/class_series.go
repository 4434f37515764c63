package game

import (
	"context"
	"encoding/json"
	"errors"
	"time"

	"slowneedle/audio/said"
	"slowneedle/drills"
	"slowneedle/drills/class/client"
	"slowneedle/drills/class/handin"
	"slowneedle/drills/class/sheet"
)

// series is a class's sheet that is being played: it says which round comes
// next, keeps every take that is locked, and hands in after the last.
type series struct {
	hand   *handin.HandIn
	server string // address of the class server; empty: there is none
	title  string // of the class, if it has one
	path   string // where the hand-in has been written, if it has
	state  handState
	says   string // why the server refuses, in one sentence
	tries  int    // how often it has been sent in vain
	points int    // as acknowledged
	news   chan handNews
	stop   context.CancelFunc
}

// handState is how far a hand-in has come.
type handState string

const (
	handPlaying handState = "playing" // rounds are left
	handWritten handState = "written" // it goes to no server
	handSending handState = "sending"
	handIn      handState = "in"      // the server has it for good
	handRefused handState = "refused" // the server will not take it
)

// handNews is what the sending of a hand-in reports.
type handNews struct {
	tries   int
	receipt client.Receipt
	err     error
	over    bool
}

// newSeries begins a sheet under a name. The error is one sentence about either.
func newSeries(n sheet.Sheet, who, server, title string) (*series, error) {
	h, err := handin.Begin(who, n, handin.Program(), time.Now())
	if err != nil {
		return nil, err
	}
	return &series{hand: h, server: server, title: title, state: handPlaying}, nil
}

// round is the round to be played, from 1; one more than there are when all
// have been.
func (s *series) round() int { return len(s.hand.Takes) + 1 }

// job makes the round to be played.
func (s *series) job() (*job, error) {
	i := len(s.hand.Takes)
	ex, err := s.hand.Sheet.Exercise(i)
	if err != nil {
		return nil, err
	}
	return &job{ex: ex, settings: s.hand.Sheet.Settings(i), number: i + 1, series: s}, nil
}

// play goes on with the series: to its next round, or to its hand-in.
func (s *series) play(g *Game) {
	if s.hand.Complete() {
		g.show(&handInScene{series: s})
		g.notice = "" // it says what the screen says
		return
	}
	j, err := s.job()
	if err != nil {
		g.tell(g.Say("round.failed", g.Fault(err)))
		return
	}
	s.report()
	g.openJob(j, len(s.hand.Takes) > 0)
}

// add takes a take in and tells the teacher's board. It returns the series as it
// is to be kept, or nil, having said why not.
func (s *series) add(g *Game, t drills.Take, v drills.Verdict) []byte {
	err := s.hand.Add(t, v, time.Now())
	var data []byte
	if err == nil {
		data, err = json.Marshal(s.kept())
	}
	if err != nil {
		g.tell(g.Say("class.not_kept", g.Fault(err)))
		return nil
	}
	s.report()
	return data
}

// report tells the board how far the learner is, if there is a server; that it
// does not arrive hurts nothing.
func (s *series) report() {
	if s.server == "" {
		return
	}
	p := client.Progress{Code: s.hand.Code, ID: s.hand.ID, Who: s.hand.Who, Round: s.round(), Takes: []client.Mark{}}
	for _, t := range s.hand.Takes {
		p.Takes = append(p.Takes, client.Mark{ErrorDB: t.Verdict.ErrorDB, InWindow: t.Verdict.InWindow, Points: t.Verdict.Points})
	}
	c := client.Client{Base: s.server}
	go func() { _ = c.Progress(context.Background(), p) }()
}

// finish writes the hand-in, where files are written, and sends it, where there
// is a server.
func (s *series) finish(g *Game) {
	if handInFiles && s.path == "" {
		if path, err := s.write(); err != nil {
			g.tell(g.Say("class.not_written", g.Fault(err)))
		} else {
			s.path = path
		}
	}
	if s.server == "" {
		s.state = handWritten
		return
	}
	s.send(g)
}

// send sends the hand-in until the server has it for good or refuses it.
func (s *series) send(g *Game) {
	file, err := s.hand.File()
	if err != nil {
		s.state, s.says = handRefused, g.Fault(err)
		return
	}
	if s.stop != nil {
		s.stop()
	}
	ctx, stop := context.WithCancel(context.Background())
	s.state, s.says, s.tries, s.stop = handSending, "", 0, stop
	news := make(chan handNews, 64)
	s.news = news
	c := client.Client{Base: s.server, Wait: func(attempt int) time.Duration {
		select {
		case news <- handNews{tries: attempt}:
		default: // nobody looks
		}
		return client.Patiently(attempt)
	}}
	go func() {
		r, err := c.HandIn(ctx, file)
		select {
		case news <- handNews{receipt: r, err: err, over: true}:
		case <-ctx.Done():
		}
	}()
	g.probe.note("handin", map[string]any{"state": s.state})
}

// take takes in what the sending reports.
func (s *series) take(g *Game) {
	for s.news != nil {
		select {
		case n := <-s.news:
			s.heard(g, n)
		default:
			return
		}
	}
}

func (s *series) heard(g *Game, n handNews) {
	g.dirty = true
	if !n.over {
		s.tries = n.tries
		g.probe.note("handin", map[string]any{"state": s.state, "tries": s.tries})
		return
	}
	s.news = nil
	s.stop()
	s.stop = nil
	var refused *client.Refused
	switch {
	case n.err == nil:
		s.state, s.points = handIn, n.receipt.Points
	case errors.As(n.err, &refused):
		s.state, s.says = handRefused, g.Put(refused.Why)
	default:
		s.state, s.says = handRefused, g.Fault(n.err)
	}
	s.keep(g)
	g.probe.note("handin", map[string]any{"state": s.state, "id": s.hand.ID, "says": s.says})
	if _, here := g.scene.(*handInScene); !here && s.state == handIn {
		g.tell(g.Say("class.in_now"))
	}
}

// safe says whether the series may be let go of: nothing of it would be lost.
func (s *series) safe() bool {
	return len(s.hand.Takes) == 0 || s.hand.Complete() && (s.state == handIn || s.path != "")
}

// after says what follows a verdict, and in which words.
func (j *job) after(g *Game) (func(*Game), string) {
	switch {
	case j.room:
		return startRoom, g.Say("class.room_next")
	case j.series == nil:
		return startNext, g.Say("verdict.next")
	case j.series.hand.Complete():
		return j.series.play, g.Say("class.to_hand_in")
	}
	return j.series.play, g.Say("verdict.next")
}

// keptSeries is a series as it is kept between two starts.
type keptSeries struct {
	Server  string        `json:"server,omitempty"`
	Title   string        `json:"title,omitempty"`
	ID      string        `json:"id"`
	Who     string        `json:"who"`
	Code    string        `json:"code"`
	Program string        `json:"program"`
	Began   time.Time     `json:"began"`
	Ended   time.Time     `json:"ended"`
	Takes   []handin.Take `json:"takes"`
	Path    string        `json:"path,omitempty"`
	State   handState     `json:"state"`
	Says    string        `json:"says,omitempty"`
	Points  int           `json:"points,omitempty"`
}

// keep stores the series so that a take once locked is there after a restart.
func (s *series) keep(g *Game) {
	data, err := json.Marshal(s.kept())
	if err == nil {
		err = storeSeries(data)
	}
	if err != nil {
		g.tell(g.Say("class.not_kept", g.Fault(err)))
	}
}

func (s *series) kept() keptSeries {
	h := s.hand
	return keptSeries{s.server, s.title, h.ID, h.Who, h.Code, h.Program, h.Began, h.Ended, h.Takes, s.path, s.state, s.says, s.points}
}

// readSeries is the series that was kept. The error says why what is there is
// none.
func readSeries(data []byte) (*series, error) {
	var k keptSeries
	if err := json.Unmarshal(data, &k); err != nil {
		return nil, said.Errorf("class.unreadable", "the class's saved rounds cannot be read: %w", err)
	}
	n, err := sheet.ParseCode(k.Code)
	if err != nil {
		return nil, said.Errorf("class.unreadable", "the class's saved rounds cannot be read: %w", err)
	}
	if len(k.Takes) > n.Rounds {
		return nil, said.Errorf("class.too_many_takes", "the class's saved rounds cannot be read: there are %d {take|takes} of %d {round|rounds}", len(k.Takes), n.Rounds)
	}
	h := &handin.HandIn{ID: k.ID, Who: k.Who, Sheet: n, Program: k.Program, Began: k.Began, Ended: k.Ended, Takes: k.Takes, Code: k.Code}
	return &series{hand: h, server: k.Server, title: k.Title, path: k.Path, state: k.State, says: k.Says, points: k.Points}, nil
}

// classroom is what a Game knows of its class.
type classroom struct {
	series     *series     // being played or handed in; nil: none
	roomRounds int         // played to the room in this session
	draft      *sheetScene // the sheet that is being made; nil: none
}

// takeClass takes in what the sending of a hand-in reports.
func (g *Game) takeClass() {
	if g.series != nil {
		g.series.take(g)
	}
}

// first goes to the screen that a start leads to: with a class code to joining.
func (g *Game) first() {
	switch n := g.series; {
	case g.opt.Code == "":
		g.show(&homeScene{})
	case n != nil && n.hand.Code == groups(g.opt.Code):
		openClass(g)
	default:
		g.openJoin("", "")
	}
}

// openSeries takes up the series that was kept, if there is one; a hand-in that
// was on its way goes on.
func (g *Game) openSeries() {
	data, err := loadSeries()
	if err == nil && len(data) > 0 {
		g.series, err = readSeries(data)
	}
	if err != nil {
		g.tell(g.Fault(err))
	}
	if s := g.series; s != nil && s.hand.Complete() && s.state != handIn && s.state != handWritten {
		s.finish(g)
	}
}

// write puts the hand-in where documents go and returns where that is.
func (s *series) write() (string, error) {
	file, err := s.hand.File()
	if err != nil {
		return "", err
	}
	return writeDocument(s.hand.FileName(), file)
}
