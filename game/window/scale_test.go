package window

import (
	"fmt"
	"io"
	"math"
	"testing"

	"github.com/jezek/xgb"
	"github.com/jezek/xgb/xproto"
)

// tellDPI puts the dots per inch where desktops put them, in the resources of
// the display's root window, and keeps the display from forgetting them.
func tellDPI(t testing.TB, display string, dpi int) {
	t.Helper()
	xgb.Logger.SetOutput(io.Discard) // the virtual display wants no authority
	conn, err := xgb.NewConnDisplay(display)
	if err != nil {
		t.Fatalf("the display %s: %v", display, err)
	}
	t.Cleanup(conn.Close)
	text := fmt.Sprintf("Xft.dpi:\t%d\n", dpi)
	err = xproto.ChangePropertyChecked(conn, xproto.PropModeReplace, xproto.Setup(conn).DefaultScreen(conn).Root,
		xproto.AtomResourceManager, xproto.AtomString, 8, uint32(len(text)), []byte(text)).Check()
	if err != nil {
		t.Fatalf("the resources of the display %s: %v", display, err)
	}
}

// On a display of twice the dots everything stands where it stands on a usual
// one, twice as fine, and is hit there.
func TestTwiceTheDots(t *testing.T) {
	t.Parallel()
	usual := start(t, options{settings: calm, size: "1280x800"}).screen("home")
	a := start(t, options{settings: calm, size: "1280x800", display: "2560x1600", dpi: 192})
	home := a.screen("home")
	all, _ := usual["places"].(map[string]any)
	if len(all) == 0 {
		t.Fatal("the usual screen has no places")
	}
	for id := range all {
		x0, y0 := usual.place(t, id)
		x, y := home.place(t, id)
		if math.Abs(x-x0) > 2 || math.Abs(y-y0) > 2 {
			t.Errorf("%s is at %.1f, %.1f points, on a usual display at %.1f, %.1f", id, x, y, x0, y0)
		}
	}
	b := readPicture(t, a.shot("home-twice-the-dots")).Bounds()
	if b.Dx() != 2560 || b.Dy() != 1600 {
		t.Errorf("the picture has %v", b)
	}
	x, y := home.place(t, "start")
	a.click(2*x, 2*y, func() event { return a.screen("round") })
	a.press("Return", func() event { return a.next("sound", func(e event) bool { return e.is("begin") }) })
	round := a.screen("round")
	x, y = round.place(t, "slider.0.track")
	a.click(2*x, 2*y, func() event { return a.next("move", isFader) })
	a.shot("round-twice-the-dots")
	checkVerdict(t, a.press("Return", func() event { return a.next("verdict", func(e event) bool { return e.is("verdict") }) }))
}
