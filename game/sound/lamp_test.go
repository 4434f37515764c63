package sound

import "testing"

// WCAG 2.2, success criterion 2.3.1: no more than three flashes in any
// one-second period, whatever the meter's lamp does.
func TestReducedFlashing(t *testing.T) {
	for name, lit := range map[string]func(i int) bool{
		"fast flutter":  func(i int) bool { return i%2 == 0 },
		"ten a second":  func(i int) bool { return i%6 == 0 },
		"four a second": func(i int) bool { return i%15 < 3 },
		"always":        func(int) bool { return true },
		"once a second": func(i int) bool { return i%60 == 0 },
	} {
		g := LampGate{Reduced: true}
		var starts []float64
		was, on := false, 0.0
		for i := range 60 * 20 {
			now := float64(i) / 60
			is := g.Show(now, lit(i))
			if is && !was {
				starts, on = append(starts, now), now
			}
			if was && !is && now-on < 0.3-1e-9 {
				t.Errorf("%s: the lamp was on for %.3f s only", name, now-on)
			}
			was = is
		}
		for i := range starts {
			if i >= 3 && starts[i]-starts[i-3] <= 1 {
				t.Errorf("%s: four flashes start within %.3f s", name, starts[i]-starts[i-3])
			}
		}
		if name == "once a second" && len(starts) != 20 {
			t.Errorf("%d flashes shown of 20 slow ones", len(starts))
		}
		large := LampGate{Large: true}
		starts, was = nil, false
		for i := range 60 * 20 {
			is := large.Show(float64(i)/60, lit(i))
			if is && !was {
				starts = append(starts, float64(i)/60)
			}
			if lit(i) && !is {
				t.Errorf("%s: the large lamp is dark at %.2f s while the meter's is lit", name, float64(i)/60)
			}
			was = is
		}
		for i := range starts {
			if i >= 3 && starts[i]-starts[i-3] <= 1 {
				t.Errorf("%s: four flashes of the large lamp start within %.3f s", name, starts[i]-starts[i-3])
			}
		}
		if name == "once a second" && len(starts) != 20 {
			t.Errorf("the large lamp flashes %d times, want 20", len(starts))
		}
	}
	g := LampGate{}
	if !g.Show(0, true) || g.Show(0.01, false) {
		t.Error("without the reduced mode the lamp does not follow the meter")
	}
}
