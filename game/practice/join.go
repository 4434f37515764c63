package practice

import (
	"context"
	"errors"
	"net/url"
	"slices"
	"strings"
	"time"
	"unicode"

	"slowneedle/audio/said"
	"slowneedle/drills/class/client"
	"slowneedle/drills/class/handin"
	"slowneedle/drills/class/sheet"
	"slowneedle/game/beside"
	"slowneedle/game/page"
	"slowneedle/game/words"
)

// Join is the form by which a learner joins a class: a class code and a name, and
// on a desktop the address of the class server. It begins the class's rounds.
type Join struct {
	session *Session
	Text    [3]string // of the fields
	At      int       // the field that is typed into
	Marked  bool      // the name is of last time: what is typed takes its place
	tried   bool      // enter was pressed: what is missing is said
	Drop    bool      // enter was pressed on a series that would be lost
	Alone   bool      // the server will not have it: enter plays without
	Warned  bool      // somebody else has the name: enter begins all the same
	title   string    // of the class, once it is known
	says    string    // of the server, or why it does not answer
	Asking  bool
	server  beside.Queue

	Class     *client.Class // whose class it is; nil: not known
	Names     []string      // of the class's roster that fit what is typed
	asked     string        // the name that Names are for
	typed     time.Time     // when a name was last typed
	searching bool
	sent      sheet.Sheet // by the server, with the list of its recordings
	changed   bool        // by what the server answered, since the last update
	play      bool        // so that there is a round to be played
}

// searchAfter is how long nothing is typed before the roster is searched.
const searchAfter = 150 * time.Millisecond

const (
	FieldCode = iota
	FieldWho
	FieldServer
)

// classPort is where a class server listens unless told otherwise.
const classPort = "8410"

// NewJoin is the form with what is known already; code and who may be empty, and
// so may what the trainer was started with.
func NewJoin(p *Session, code, who, startCode, server string) *Join {
	s := &Join{session: p, Text: [3]string{code, who, server}, server: beside.New()}
	if code == "" {
		s.Text[FieldCode] = Groups(startCode)
	}
	if p.Series != nil {
		if who == "" {
			s.Text[FieldWho] = p.Series.Hand.Who
		}
		if s.Text[FieldServer] == "" {
			s.Text[FieldServer] = p.Series.Server
		}
	}
	if _, err := sheet.ParseCode(s.Text[FieldCode]); err == nil {
		s.At = FieldWho
	}
	s.Marked = s.Text[FieldWho] != ""
	s.greet()
	return s
}

// greet asks the server whose class it is.
func (s *Join) greet() {
	server, err := address(s.Text[FieldServer])
	if err != nil || server == "" {
		return
	}
	c := client.Client{Base: server}
	s.server.Do(func() func() {
		of, err := c.Class(context.Background())
		return func() {
			if err == nil {
				s.Class, s.changed = &of, true
			}
		}
	})
}

// search looks for the name that is typed in the class's roster.
func (s *Join) search() {
	who := handin.TidyWho(s.Text[FieldWho])
	if s.Class == nil || !s.Class.Roster || s.searching || who == s.asked || time.Since(s.typed) < searchAfter {
		return
	}
	s.asked, s.searching = who, true
	server, _ := address(s.Text[FieldServer])
	c, code := client.Client{Base: server}, s.Text[FieldCode]
	s.server.Do(func() func() {
		names, _ := c.Roster(context.Background(), code, who) // no names where it does not answer
		return func() {
			s.Names = slices.DeleteFunc(names, func(n string) bool { return n == who })
			s.searching, s.changed = false, true
			s.session.Records.Note("names", map[string]any{"count": len(s.Names)})
		}
	})
}

// Take takes a name of the roster.
func (s *Join) Take(name string) {
	s.edited()
	s.Text[FieldWho], s.Marked, s.Names, s.At = name, false, nil, FieldWho
	s.asked = name
}

// edited forgets what was said of what is typed now.
func (s *Join) edited() {
	s.Drop, s.Alone, s.tried, s.says = false, false, false, ""
	s.typed = time.Now()
}

// Fields is how many fields there are to type into: in a browser the server is
// the page's own.
func (s *Join) Fields() int {
	if page.Browser {
		return 2
	}
	return 3
}

// Write puts a character behind the others of the field.
func (s *Join) Write(r rune) {
	if !s.Asking {
		s.unmark()
		s.Fill(s.Text[s.At] + string(r))
	}
}

// Fill makes a text what stands in the field, without what cannot be printed.
func (s *Join) Fill(text string) {
	if s.Asking {
		return
	}
	s.Marked = s.Marked && s.At != FieldWho
	s.edited()
	text = strings.Map(func(r rune) rune {
		if !unicode.IsPrint(r) {
			return -1
		}
		return r
	}, text)
	if s.At == FieldCode {
		s.Text[s.At] = Groups(text)
		return
	}
	r := []rune(text)
	s.Text[s.At] = string(r[:min(len(r), handin.MaxWho+20)])
}

// unmark takes a marked name away where something is done to it.
func (s *Join) unmark() {
	if s.Marked && s.At == FieldWho {
		s.Marked, s.Text[FieldWho] = false, ""
	}
}

// Rub takes the last character of the field away, or all of what is marked.
func (s *Join) Rub() {
	t := &s.Text[s.At]
	if !s.Asking {
		s.unmark()
	}
	r := []rune(strings.TrimRight(*t, " "))
	if len(r) == 0 || s.Asking {
		*t = ""
		return
	}
	s.edited()
	*t = string(r[:len(r)-1])
	if s.At == FieldCode {
		*t = Groups(*t)
	}
}

// Groups writes a code that is being typed in capitals and groups of four.
func Groups(text string) string {
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

// GoesOn reports whether the fields are those of the series that is unfinished.
func (s *Join) GoesOn() bool {
	n := s.session.Series
	return n != nil && !n.Over() && n.Hand.Code == s.Text[FieldCode] && n.Hand.Who == handin.TidyWho(s.Text[FieldWho])
}

// Enter asks the server, or begins, or goes to the field that is not right yet.
// It reports whether there is a round to be played.
func (s *Join) Enter() (play bool) {
	if s.Asking {
		return false
	}
	s.tried = true
	n, err := sheet.ParseCode(s.Text[FieldCode])
	switch {
	case err != nil:
		s.At = FieldCode
		return false
	case handin.CheckWho(handin.TidyWho(s.Text[FieldWho])) != nil:
		s.At = FieldWho
		return false
	case s.GoesOn():
		if server, err := address(s.Text[FieldServer]); err == nil {
			s.session.Series.Server = server
		}
		return true
	case s.session.Series != nil && !s.session.Series.Safe() && !s.Drop:
		s.Drop = true
		return false
	}
	server, err := address(s.Text[FieldServer])
	if err != nil {
		s.At = FieldServer // whose check tells what is wrong
		return false
	}
	switch {
	case n.Exam && server == "":
		s.At, s.says = FieldServer, s.session.Records.Say("class.exam_server")
	case s.Alone:
		return s.begin(n, "", "")
	case server == "" || s.says != "" && (s.Warned || !n.Exam): // it has been asked, and does not answer
		return s.begin(n, server, s.title)
	default:
		s.ask(server)
	}
	return false
}

// ask asks the class server whether it has the code.
func (s *Join) ask(server string) {
	s.Asking, s.Warned, s.says = true, false, ""
	code, who := s.Text[FieldCode], handin.TidyWho(s.Text[FieldWho])
	s.server.Do(func() func() {
		ctx, stop := context.WithTimeout(context.Background(), 8*time.Second)
		defer stop()
		c := client.Client{Base: server}
		joined, err := c.Join(ctx, code, who)
		return func() {
			s.Asking, s.changed = false, true
			s.play = s.answered(joined, err)
		}
	})
}

// Update handles the server's answers. It reports whether that changed
// something, and whether there is a round to be played.
func (s *Join) Update() (changed, play bool) {
	s.changed, s.play = false, false
	s.server.Update()
	if !s.play {
		s.search()
	}
	return s.changed, s.play
}

// answered handles what the server answered to the code. It reports whether there is a
// round to be played.
func (s *Join) answered(joined client.Joined, failed error) (play bool) {
	w := s.session.Records
	var refused *client.Refused
	s.sent = joined.Sheet
	n, err := sheet.ParseCode(s.Text[FieldCode])
	exam := err == nil && n.Exam
	switch {
	case errors.As(failed, &refused):
		s.says, s.Alone = w.Say("class.server_refuses", w.Put(refused.Why)), true
		if exam { // which cannot be played without the server
			s.says, s.Alone = w.Say("class.server_says", w.Put(refused.Why)), false
		}
	case exam && failed != nil:
		s.says = w.Say("class.no_server")
	case failed != nil:
		s.says = w.Say("class.server_silent")
	case err != nil:
		s.says = w.Fault(err)
	case joined.Taken: // whoever begins all the same is who they say
		s.says, s.Warned, s.title = w.Say("class.taken"), true, joined.Title
	default:
		server, _ := address(s.Text[FieldServer])
		play = s.begin(n, server, joined.Title)
	}
	w.Note("asked", map[string]any{"says": s.says, "alone": s.Alone})
	return play
}

// begin begins the class's rounds. It reports whether there is one to be played.
func (s *Join) begin(n sheet.Sheet, server, title string) (play bool) {
	folder := ""
	if n.Recorded {
		var err error
		n, folder, err = s.session.withRecordings(n, server, s.sent)
		if err != nil {
			s.says = s.session.Records.Fault(err)
			return false
		}
	}
	fresh, err := NewSeries(n, s.Text[FieldWho], server, title)
	if err != nil {
		s.says = s.session.Records.Fault(err)
		return false
	}
	if s.session.Series != nil && s.session.Series.stop != nil {
		s.session.Series.stop()
	}
	fresh.Folder = folder
	fresh.Hand.Language = s.session.Records.Say("language.code")
	s.session.Series = fresh
	fresh.Keep(s.session.Records)
	s.session.Records.Note("joined", map[string]any{"code": fresh.Hand.Code, "who": fresh.Hand.Who, "server": server, "id": fresh.Hand.ID})
	return true
}

// Line is the sentence beside the button.
func (s *Join) Line() string {
	w, n := s.session.Records, s.session.Series
	switch {
	case s.Asking:
		return w.Say("class.asking")
	case s.says != "":
		return s.says
	case s.Drop:
		return w.Say("class.drop_ask", len(n.Hand.Takes), n.Hand.Sheet.Rounds, n.Hand.Who)
	case s.GoesOn():
		return w.Say("class.go_on_line", len(n.Hand.Takes), n.Hand.Sheet.Rounds)
	}
	return ""
}

// Check is how a field stands: the sentence under it, whether it is right, and
// whether it is wrong already.
func (s *Join) Check(i int) (line string, right, wrong bool) {
	text, w := s.Text[i], s.session.Records
	switch i {
	case FieldCode:
		n, err := sheet.ParseCode(text)
		if err == nil {
			return w.SheetWords(n), true, false
		}
		if length := len(strings.ReplaceAll(text, " ", "")); length < 12 && !words.IsFault(err, "code.character") && !s.tried {
			return w.Say("class.code_hint"), false, false
		}
		return w.Fault(err), false, true
	case FieldWho:
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

// Cased is a letter as it will be written: a name's are small after the first of
// a word.
func (s *Join) Cased(k string) string {
	t := s.Text[s.At]
	if s.At == FieldCode || s.At == FieldWho && (t == "" || strings.HasSuffix(t, " ")) {
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
