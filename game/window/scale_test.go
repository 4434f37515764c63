package window

import (
	"fmt"
	"math"
	"testing"

	"github.com/jezek/xgb"
	"github.com/jezek/xgb/xproto"
)

// tellDPI puts the dots per inch where desktops put them, in the resources of
// the display's root window, and keeps the display from forgetting them.
func tellDPI(t testing.TB, conn *xgb.Conn, dpi int) {
	t.Helper()
	text := fmt.Sprintf("Xft.dpi:\t%d\n", dpi)
	err := xproto.ChangePropertyChecked(conn, xproto.PropModeReplace, xproto.Setup(conn).DefaultScreen(conn).Root,
		xproto.AtomResourceManager, xproto.AtomString, 8, uint32(len(text)), []byte(text)).Check()
	if err != nil {
		t.Fatalf("the resources of the display: %v", err)
	}
}

// On a display of twice the dots everything stands where it stands on a usual
// one, twice as fine, and is hit there.
func TestTwiceTheDots(t *testing.T) {
	inTurn(t)
	usual := start(t, options{settings: calm, size: "1280x800"}).Screen("home")
	a := start(t, options{settings: calm, size: "1280x800", display: "2560x1600", dpi: 192})
	home := a.Screen("home")
	all := usual.Places()
	if len(all) == 0 {
		t.Fatal("the usual screen has no places")
	}
	for id := range all {
		x0, y0 := usual.Place(t, id)
		x, y := home.Place(t, id)
		if math.Abs(x-x0) > 2 || math.Abs(y-y0) > 2 {
			t.Errorf("%s is at %.1f, %.1f points, on a usual display at %.1f, %.1f", id, x, y, x0, y0)
		}
	}
	b := a.picture("home-twice-the-dots", a.root()).Bounds()
	if b.Dx() != 2560 || b.Dy() != 1600 {
		t.Errorf("the picture has %v", b)
	}
	x, y := home.Place(t, "start")
	a.Click(2*x, 2*y, func() event { return a.Screen("round") })
	_, round := a.Begin()
	x, y = round.Place(t, "slider.0.track")
	a.Click(2*x, 2*y, func() event { return a.Event("fader") })
	a.Shot("round-twice-the-dots")
	a.locked()
}
