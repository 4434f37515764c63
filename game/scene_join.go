package game

import (
	"context"
	"errors"
	"fmt"
	"net/url"
	"slices"
	"strings"
	"time"
	"unicode"

	"github.com/hajimehoshi/ebiten/v2"

	"slowneedle/audio/said"
	"slowneedle/drills/class/client"
	"slowneedle/drills/class/handin"
	"slowneedle/drills/class/sheet"
)

// joinScene takes a class code and a name, and on a desktop the address of the
// class server, and begins the class's rounds.
type joinScene struct {
	text   [3]string // of the fields
	at     int       // the field that is typed into
	marked bool      // the name is of last time: what is typed takes its place
	tried  bool      // enter was pressed: what is missing is said
	drop   bool      // enter was pressed on a series that would be lost
	alone  bool      // the server will not have it: enter plays without
	says   string    // of the server, or why it does not answer
	asking bool
	answer chan joinAnswer
	finger bool   // letters are shown to be touched
	told   string // what a probe knows
}

const (
	fieldCode = iota
	fieldWho
	fieldServer
)

// joinAnswer is what the class server said to a code.
type joinAnswer struct {
	joined client.Joined
	err    error
}

// classPort is where a class server listens unless told otherwise.
const classPort = "8410"

// openClass goes on with the class's rounds, hands them in, or asks for a code.
func openClass(g *Game) {
	if s := g.series; s != nil && s.hand.Complete() && !s.safe() {
		g.show(&handInScene{series: s})
		return
	}
	code, who := "", ""
	if s := g.series; s != nil && !s.hand.Complete() {
		code, who = s.hand.Code, s.hand.Who
	}
	g.openJoin(code, who)
}

// openJoin asks for a code and a name, with what is known already.
func (g *Game) openJoin(code, who string) {
	s := &joinScene{finger: g.in.touch}
	s.text = [3]string{code, who, g.opt.Server}
	if code == "" {
		s.text[fieldCode] = groups(g.opt.Code)
	}
	if g.series != nil {
		if who == "" {
			s.text[fieldWho] = g.series.hand.Who
		}
		if s.text[fieldServer] == "" {
			s.text[fieldServer] = g.series.server
		}
	}
	if _, err := sheet.ParseCode(s.text[fieldCode]); err == nil {
		s.at = fieldWho
	}
	s.marked = s.text[fieldWho] != ""
	g.show(s)
}

func (*joinScene) name() string { return "join" }

// fields is how many fields there are to type into: in a browser the server is
// the page's own.
func (s *joinScene) fields() int {
	if handInFiles {
		return 3
	}
	return 2
}

// fieldPlaces are the names of the fields as places on the screen.
var fieldPlaces = [...]string{"field.code", "field.who", "field.server"}

func (s *joinScene) field() string { return fieldPlaces[s.at] }

func (s *joinScene) typeInto(place string) bool {
	i := slices.Index(fieldPlaces[:], place)
	if i >= 0 {
		s.at = i
	}
	return i >= 0
}

func (s *joinScene) actions(g *Game) []action {
	label := g.Say("class.begin")
	switch {
	case s.goesOn(g):
		label = g.Say("class.go_on")
	case s.drop:
		label = g.Say("class.drop")
	case s.alone:
		label = g.Say("class.alone")
	}
	move := func(by int) func(*Game) { return func(*Game) { s.at = (s.at + by + s.fields()) % s.fields() } }
	help := helpAction(g) // its letter belongs to the fields
	help.keys = []ebiten.Key{ebiten.KeyF1}
	help.cap = "cap.f1"
	return []action{
		{id: "enter", desk: true, keys: enterKeys, cap: "cap.enter", label: label, do: s.enter},
		{id: "up", desk: true, keys: []ebiten.Key{ebiten.KeyArrowUp}, cap: "cap.up", do: move(-1)},
		{id: "down", desk: true, keys: []ebiten.Key{ebiten.KeyArrowDown}, cap: "cap.down", label: g.Say("class.field"), do: move(1)},
		{id: "back", desk: true, keys: []ebiten.Key{ebiten.KeyBackspace}, cap: "cap.backspace", label: g.Say("class.rub"), repeat: true, do: func(*Game) { s.rub() }},
		help,
		{id: "sheet", keys: []ebiten.Key{ebiten.KeyF2}, cap: "cap.f2", label: g.Say("sheet.make"), do: openSheet},
		leaveAction(g),
	}
}

func (s *joinScene) update(g *Game) {
	if g.in.pressed {
		if s.finger != g.in.touch {
			s.finger, g.dirty = g.in.touch, true
		}
	}
	if now := fmt.Sprint(s.at, s.text); g.probe != nil && s.told != now {
		s.told = now
		line, right, wrong := s.check(g, s.at)
		g.probe.note("typed", map[string]any{"field": s.at, "text": s.text[s.at], "says": line, "right": right, "wrong": wrong})
	}
	select {
	case a := <-s.answer:
		s.asking, g.dirty = false, true
		s.answered(g, a)
	default:
	}
}

// write puts a character behind the others of the field.
func (s *joinScene) write(r rune) {
	t := &s.text[s.at]
	if !unicode.IsPrint(r) || s.asking {
		return
	}
	s.drop, s.alone, s.tried, s.says = false, false, false, ""
	s.unmark()
	switch {
	case s.at == fieldCode:
		*t = groups(*t + string(r))
	case len([]rune(*t)) < handin.MaxWho+20:
		*t += string(r)
	}
}

// unmark takes a marked name away where something is done to it.
func (s *joinScene) unmark() {
	if s.marked && s.at == fieldWho {
		s.marked, s.text[fieldWho] = false, ""
	}
}

// rub takes the last character of the field away, or all of what is marked.
func (s *joinScene) rub() {
	t := &s.text[s.at]
	if !s.asking {
		s.unmark()
	}
	r := []rune(strings.TrimRight(*t, " "))
	if len(r) == 0 || s.asking {
		*t = ""
		return
	}
	s.drop, s.alone, s.tried, s.says = false, false, false, ""
	*t = string(r[:len(r)-1])
	if s.at == fieldCode {
		*t = groups(*t)
	}
}

// groups writes a code that is being typed in capitals and groups of four.
func groups(text string) string {
	var b strings.Builder
	n := 0
	for _, r := range strings.ToUpper(text) {
		if unicode.IsSpace(r) || r == '-' || n >= 24 {
			continue
		}
		if n > 0 && n%4 == 0 {
			b.WriteByte(' ')
		}
		b.WriteRune(r)
		n++
	}
	return b.String()
}

// goesOn says whether the fields are those of the series that is unfinished.
func (s *joinScene) goesOn(g *Game) bool {
	n := g.series
	return n != nil && !n.hand.Complete() && n.hand.Code == s.text[fieldCode] && n.hand.Who == handin.TidyWho(s.text[fieldWho])
}

// enter begins, or goes to the field that is not right yet.
func (s *joinScene) enter(g *Game) {
	if s.asking {
		return
	}
	s.tried = true
	n, err := sheet.ParseCode(s.text[fieldCode])
	switch {
	case err != nil:
		s.at = fieldCode
		return
	case handin.CheckWho(handin.TidyWho(s.text[fieldWho])) != nil:
		s.at = fieldWho
		return
	case s.goesOn(g):
		if server, err := address(s.text[fieldServer]); err == nil {
			g.series.server = server
		}
		g.series.play(g)
		return
	case g.series != nil && !g.series.safe() && !s.drop:
		s.drop = true
		return
	}
	server, err := address(s.text[fieldServer])
	if err != nil {
		s.at, s.says = fieldServer, g.Fault(err)
		return
	}
	switch {
	case s.alone:
		s.begin(g, n, "", "")
	case server == "" || s.says != "": // it has been asked, and does not answer
		s.begin(g, n, server, "")
	default:
		s.ask(server)
	}
}

// ask asks the class server whether it has the code.
func (s *joinScene) ask(server string) {
	s.asking, s.says = true, ""
	s.answer = make(chan joinAnswer, 1)
	code, answer := s.text[fieldCode], s.answer
	go func() {
		ctx, stop := context.WithTimeout(context.Background(), 8*time.Second)
		defer stop()
		c := client.Client{Base: server}
		j, err := c.Sheet(ctx, code)
		answer <- joinAnswer{j, err}
	}()
}

func (s *joinScene) answered(g *Game, a joinAnswer) {
	var refused *client.Refused
	switch {
	case errors.As(a.err, &refused):
		s.says, s.alone = g.Say("class.server_refuses", g.Put(refused.Why)), true
	case a.err != nil:
		s.says = g.Say("class.server_silent")
	default:
		n, err := sheet.ParseCode(s.text[fieldCode])
		if err != nil {
			s.says = g.Fault(err)
			return
		}
		server, _ := address(s.text[fieldServer])
		s.begin(g, n, server, a.joined.Title)
	}
	g.probe.note("asked", map[string]any{"says": s.says, "alone": s.alone})
}

// begin begins the class's rounds.
func (s *joinScene) begin(g *Game, n sheet.Sheet, server, title string) {
	fresh, err := newSeries(n, s.text[fieldWho], server, title)
	if err != nil {
		s.says = g.Fault(err)
		return
	}
	if g.series != nil && g.series.stop != nil {
		g.series.stop()
	}
	g.series = fresh
	fresh.keep(g)
	g.probe.note("joined", map[string]any{"code": fresh.hand.Code, "who": fresh.hand.Who, "server": server, "id": fresh.hand.ID})
	fresh.play(g)
}

// address completes what is typed as the address of a class server; empty stays
// empty.
func address(text string) (string, error) {
	text = strings.TrimSpace(text)
	if text == "" {
		return "", nil
	}
	full := text
	if !strings.Contains(full, "://") {
		full = "http://" + full
	}
	u, err := url.Parse(full)
	if err != nil || u.Hostname() == "" || u.Scheme != "http" && u.Scheme != "https" {
		return "", said.Errorf("class.address", "%q is not an address like 192.168.1.20:%s", text, classPort)
	}
	if u.Port() == "" && !strings.Contains(text, "://") {
		u.Host += ":" + classPort
	}
	return u.Scheme + "://" + u.Host, nil
}
