package window

import (
	"net/url"
	"strings"
	"testing"
	"time"

	"github.com/jezek/xgb"
	"github.com/jezek/xgb/xproto"

	"slowneedle/game/window/drive"
)

// dragSource is a program of its own on the display from which files are
// dragged to the trainer, by the protocol for drag and drop on the X Window
// System (XDND, version 5).
type dragSource struct {
	t      testing.TB
	conn   *xgb.Conn
	window xproto.Window
	root   xproto.Window
	atoms  map[string]xproto.Atom
	target xproto.Window
}

const xdndVersion = 5

// dragFrom connects to the trainer's display and finds the window that takes
// drops.
func dragFrom(a *app) *dragSource {
	a.T.Helper()
	conn := connect(a.T, a.display)
	screen := xproto.Setup(conn).DefaultScreen(conn)
	d := &dragSource{t: a.T, conn: conn, root: screen.Root, atoms: map[string]xproto.Atom{}}
	var err error
	d.window, err = xproto.NewWindowId(conn)
	if err == nil {
		err = xproto.CreateWindowChecked(conn, screen.RootDepth, d.window, d.root, -10, -10, 1, 1, 0,
			xproto.WindowClassInputOutput, screen.RootVisual, 0, nil).Check()
	}
	if err != nil {
		a.T.Fatalf("a window to drag from: %v", err)
	}
	tree, err := xproto.QueryTree(conn, d.root).Reply()
	if err != nil {
		a.T.Fatal(err)
	}
	for _, w := range tree.Children {
		p, err := xproto.GetProperty(conn, false, w, d.atom("XdndAware"), xproto.AtomAtom, 0, 1).Reply()
		if err == nil && p.ValueLen == 1 && xgb.Get32(p.Value) >= xdndVersion {
			d.target = w
		}
	}
	if d.target == 0 {
		a.T.Fatal("no window on the display takes drops")
	}
	return d
}

func (d *dragSource) atom(name string) xproto.Atom {
	d.t.Helper()
	if a, ok := d.atoms[name]; ok {
		return a
	}
	r, err := xproto.InternAtom(d.conn, false, uint16(len(name)), name).Reply()
	if err != nil {
		d.t.Fatalf("the atom %s: %v", name, err)
	}
	d.atoms[name] = r.Atom
	return r.Atom
}

// drop drags files to the middle of the trainer's window, lets them go there
// and waits until the trainer has taken them.
func (d *dragSource) drop(paths ...string) {
	d.t.Helper()
	list := d.atom("text/uri-list")
	if err := xproto.SetSelectionOwnerChecked(d.conn, d.window, d.atom("XdndSelection"), xproto.TimeCurrentTime).Check(); err != nil {
		d.t.Fatal(err)
	}
	at, err := xproto.GetGeometry(d.conn, xproto.Drawable(d.target)).Reply()
	if err != nil {
		d.t.Fatal(err)
	}
	x, y := uint32(at.X)+uint32(at.Width)/2, uint32(at.Y)+uint32(at.Height)/2
	d.send("XdndEnter", xdndVersion<<24, uint32(list))
	d.send("XdndPosition", 0, x<<16|y, xproto.TimeCurrentTime, uint32(d.atom("XdndActionCopy")))
	if m := d.answer("XdndStatus"); m[1]&1 == 0 {
		d.t.Fatalf("the window does not take files: %v", m)
	}
	d.send("XdndDrop", 0, xproto.TimeCurrentTime)
	var uris strings.Builder // RFC 2483: one a line, each with CR LF
	for _, p := range paths {
		uris.WriteString((&url.URL{Scheme: "file", Path: p}).String() + "\r\n")
	}
	d.hand(list, uris.String())
	if m := d.answer("XdndFinished"); m[1] == 0 { // the window library puts how much it got where one bit is asked for
		d.t.Fatalf("the window did not take %v: %v", paths, m)
	}
}

// send sends a message of the protocol to the trainer.
func (d *dragSource) send(name string, more ...uint32) {
	d.t.Helper()
	d.message(name, append([]uint32{uint32(d.window)}, more...)...)
}

// message sends a message to the trainer's window.
func (d *dragSource) message(name string, data ...uint32) {
	d.t.Helper()
	data = append(data, make([]uint32, 5-len(data))...)
	m := xproto.ClientMessageEvent{Format: 32, Window: d.target, Type: d.atom(name), Data: xproto.ClientMessageDataUnionData32New(data)}
	if err := xproto.SendEventChecked(d.conn, false, d.target, xproto.EventMaskNoEvent, string(m.Bytes())).Check(); err != nil {
		d.t.Fatalf("%s: %v", name, err)
	}
}

// closeWindow closes the trainer's window as a hand on its frame does (Inter-Client
// Communication Conventions Manual, section 4.2.8.1) and waits until it is gone.
func (a *app) closeWindow() {
	a.T.Helper()
	d := dragFrom(a)
	err := xproto.ChangeWindowAttributesChecked(d.conn, d.target, xproto.CwEventMask, []uint32{xproto.EventMaskStructureNotify}).Check()
	if err != nil {
		a.T.Fatal(err)
	}
	d.message("WM_PROTOCOLS", uint32(d.atom("WM_DELETE_WINDOW")))
	d.event("end of the window", func(e xgb.Event) bool {
		gone, ok := e.(xproto.DestroyNotifyEvent)
		return ok && gone.Window == d.target
	})
}

// event waits for what ok accepts among what the display sends.
func (d *dragSource) event(what string, ok func(xgb.Event) bool) {
	d.t.Helper()
	late := time.AfterFunc(drive.Patience, d.conn.Close)
	defer late.Stop()
	for {
		e, err := d.conn.WaitForEvent()
		switch {
		case e == nil && err == nil:
			d.t.Fatalf("no %s within %v", what, drive.Patience)
		case err != nil:
			d.t.Fatalf("%s: the display: %v", what, err)
		case ok(e):
			return
		}
	}
}

// answer waits for a message of the protocol from the trainer.
func (d *dragSource) answer(name string) []uint32 {
	d.t.Helper()
	var data []uint32
	d.event(name, func(e xgb.Event) bool {
		m, ok := e.(xproto.ClientMessageEvent)
		if !ok || m.Type != d.atom(name) {
			return false
		}
		data = m.Data.Data32
		return true
	})
	return data
}

// hand gives the trainer what is dragged, when it asks for it.
func (d *dragSource) hand(kind xproto.Atom, content string) {
	d.t.Helper()
	d.event("request for the files", func(e xgb.Event) bool {
		r, ok := e.(xproto.SelectionRequestEvent)
		if !ok {
			return false
		}
		if r.Target != kind {
			d.t.Fatalf("the trainer asks for something else than a list of files: %v", r)
		}
		err := xproto.ChangePropertyChecked(d.conn, xproto.PropModeReplace, r.Requestor, r.Property, kind, 8, uint32(len(content)), []byte(content)).Check()
		if err == nil {
			n := xproto.SelectionNotifyEvent{Time: r.Time, Requestor: r.Requestor, Selection: r.Selection, Target: r.Target, Property: r.Property}
			err = xproto.SendEventChecked(d.conn, false, r.Requestor, xproto.EventMaskNoEvent, string(n.Bytes())).Check()
		}
		if err != nil {
			d.t.Fatalf("handing over the files: %v", err)
		}
		return true
	})
}
