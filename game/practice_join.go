package game

import (
	"context"
	"errors"
	"net/url"
	"slowneedle/audio/said"
	"slowneedle/drills/class/client"
	"slowneedle/drills/class/handin"
	"slowneedle/drills/class/sheet"
	"slowneedle/game/page"
	"slowneedle/game/words"
	"strings"
	"time"
	"unicode"
)

// join is the form by which a learner joins a class: a class code and a name, and
// on a desktop the address of the class server. It begins the class's rounds.
type join struct {
	session *session
	text    [3]string // of the fields
	at      int       // the field that is typed into
	marked  bool      // the name is of last time: what is typed takes its place
	tried   bool      // enter was pressed: what is missing is said
	drop    bool      // enter was pressed on a series that would be lost
	alone   bool      // the server will not have it: enter plays without
	says    string    // of the server, or why it does not answer
	asking  bool
	answer  chan joinAnswer
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

// newJoin is the form with what is known already; code and who may be empty, and
// so may what the trainer was started with.
func newJoin(p *session, code, who, startCode, server string) *join {
	s := &join{session: p, text: [3]string{code, who, server}}
	if code == "" {
		s.text[fieldCode] = groups(startCode)
	}
	if p.series != nil {
		if who == "" {
			s.text[fieldWho] = p.series.hand.Who
		}
		if s.text[fieldServer] == "" {
			s.text[fieldServer] = p.series.server
		}
	}
	if _, err := sheet.ParseCode(s.text[fieldCode]); err == nil {
		s.at = fieldWho
	}
	s.marked = s.text[fieldWho] != ""
	return s
}

// fields is how many fields there are to type into: in a browser the server is
// the page's own.
func (s *join) fields() int {
	if page.Browser {
		return 2
	}
	return 3
}

// write puts a character behind the others of the field.
func (s *join) write(r rune) {
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
func (s *join) unmark() {
	if s.marked && s.at == fieldWho {
		s.marked, s.text[fieldWho] = false, ""
	}
}

// rub takes the last character of the field away, or all of what is marked.
func (s *join) rub() {
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

// goesOn reports whether the fields are those of the series that is unfinished.
func (s *join) goesOn() bool {
	n := s.session.series
	return n != nil && !n.hand.Complete() && n.hand.Code == s.text[fieldCode] && n.hand.Who == handin.TidyWho(s.text[fieldWho])
}

// enter asks the server, or begins, or goes to the field that is not right yet.
// It reports whether there is a round to be played.
func (s *join) enter() (play bool) {
	if s.asking {
		return false
	}
	s.tried = true
	n, err := sheet.ParseCode(s.text[fieldCode])
	switch {
	case err != nil:
		s.at = fieldCode
		return false
	case handin.CheckWho(handin.TidyWho(s.text[fieldWho])) != nil:
		s.at = fieldWho
		return false
	case s.goesOn():
		if server, err := address(s.text[fieldServer]); err == nil {
			s.session.series.server = server
		}
		return true
	case s.session.series != nil && !s.session.series.safe() && !s.drop:
		s.drop = true
		return false
	}
	server, err := address(s.text[fieldServer])
	if err != nil {
		s.at, s.says = fieldServer, s.session.records.Fault(err)
		return false
	}
	switch {
	case s.alone:
		return s.begin(n, "", "")
	case server == "" || s.says != "": // it has been asked, and does not answer
		return s.begin(n, server, "")
	default:
		s.ask(server)
	}
	return false
}

// ask asks the class server whether it has the code.
func (s *join) ask(server string) {
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

// update takes in what the server answered. It reports whether that changed
// something, and whether there is a round to be played.
func (s *join) update() (changed, play bool) {
	select {
	case a := <-s.answer:
		s.asking = false
		return true, s.answered(a)
	default:
		return false, false
	}
}

func (s *join) answered(a joinAnswer) (play bool) {
	w := s.session.records
	var refused *client.Refused
	switch {
	case errors.As(a.err, &refused):
		s.says, s.alone = w.Say("class.server_refuses", w.Put(refused.Why)), true
	case a.err != nil:
		s.says = w.Say("class.server_silent")
	default:
		n, err := sheet.ParseCode(s.text[fieldCode])
		if err != nil {
			s.says = w.Fault(err)
			return false
		}
		server, _ := address(s.text[fieldServer])
		play = s.begin(n, server, a.joined.Title)
	}
	w.note("asked", map[string]any{"says": s.says, "alone": s.alone})
	return play
}

// begin begins the class's rounds. It reports whether there is one to be played.
func (s *join) begin(n sheet.Sheet, server, title string) (play bool) {
	fresh, err := newSeries(n, s.text[fieldWho], server, title)
	if err != nil {
		s.says = s.session.records.Fault(err)
		return false
	}
	if s.session.series != nil && s.session.series.stop != nil {
		s.session.series.stop()
	}
	s.session.series = fresh
	fresh.keep(s.session.records)
	s.session.records.note("joined", map[string]any{"code": fresh.hand.Code, "who": fresh.hand.Who, "server": server, "id": fresh.hand.ID})
	return true
}

// line is the sentence beside the button.
func (s *join) line() string {
	w, n := s.session.records, s.session.series
	switch {
	case s.asking:
		return w.Say("class.asking")
	case s.says != "":
		return s.says
	case s.drop:
		return w.Say("class.drop_ask", len(n.hand.Takes), n.hand.Sheet.Rounds, n.hand.Who)
	case s.goesOn():
		return w.Say("class.go_on_line", len(n.hand.Takes), n.hand.Sheet.Rounds)
	}
	return ""
}

// check is how a field stands: the sentence under it, whether it is right, and
// whether it is wrong already.
func (s *join) check(i int) (line string, right, wrong bool) {
	text, w := s.text[i], s.session.records
	switch i {
	case fieldCode:
		n, err := sheet.ParseCode(text)
		if err == nil {
			return w.SheetWords(n), true, false
		}
		if length := len(strings.ReplaceAll(text, " ", "")); length < 12 && !words.IsFault(err, "code.character") && !s.tried {
			return w.Say("class.code_hint"), false, false
		}
		return w.Fault(err), false, true
	case fieldWho:
		if err := handin.CheckWho(handin.TidyWho(text)); err != nil {
			if text == "" && !s.tried {
				return w.Say("class.who_hint"), false, false
			}
			return w.Fault(err), false, true
		}
		return w.Say("class.who_hint"), true, false
	}
	if full, err := address(text); err != nil {
		return w.Fault(err), false, s.tried
	} else if full != "" {
		return full, true, false
	}
	return w.Say("class.server_hint"), false, false
}

// cased is a letter as it will be written: a name's are small after the first of
// a word.
func (s *join) cased(k string) string {
	t := s.text[s.at]
	if s.at == fieldCode || s.at == fieldWho && (t == "" || strings.HasSuffix(t, " ")) {
		return k
	}
	return strings.ToLower(k)
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
