package sequence

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"
	"time"

	"github.com/paulmach/orb"
	"pgregory.net/rapid"
)

// However the photos are listed, they were flown the same way.
func TestOrderOfTheListDoesNotMatter(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := survey{
			lines: rapid.IntRange(1, 5).Draw(t, "lines"), shots: rapid.IntRange(1, 12).Draw(t, "shots"),
			base: rapid.Float64Range(0, 40).Draw(t, "base"), spacing: rapid.Float64Range(0, 60).Draw(t, "spacing"),
			speed: rapid.Float64Range(0.5, 30).Draw(t, "speed"), turn: rapid.Float64Range(0, 300).Draw(t, "turn"),
			counter: rapid.IntRange(1, 9999).Draw(t, "counter"), climb: rapid.IntRange(0, 3).Draw(t, "climb"),
			landing: rapid.IntRange(0, 3).Draw(t, "landing"), whole: rapid.Bool().Draw(t, "whole seconds"),
			begin: morning, folder: "DCIM/100",
		}
		shots, _ := s.fly()
		for range rapid.IntRange(0, 4).Draw(t, "changes") {
			i := rapid.IntRange(0, len(shots)-1).Draw(t, "photo")
			switch rapid.IntRange(0, 4).Draw(t, "change") {
			case 0:
				shots = slices.Delete(shots, i, i+1)
			case 1:
				shots[i].At[0] += rapid.Float64Range(-5000, 5000).Draw(t, "aside")
			case 2:
				shots[i].Time = shots[i].Time.Add(time.Duration(rapid.IntRange(-4000, 4000).Draw(t, "seconds")) * time.Second)
			case 3:
				shots[i].Time = time.Time{}
			case 4:
				shots[i].File = "card 2/" + shots[i].File
			}
			if len(shots) == 0 {
				return
			}
		}
		want := Of(shots, nil)
		mixed := rapid.Permutation(shots).Draw(t, "as listed")
		got := Of(mixed, nil)
		for i := range got.Order {
			if shots[want.Order[i]] != mixed[got.Order[i]] {
				t.Fatalf("place %d: %+v, before %+v", i, mixed[got.Order[i]], shots[want.Order[i]])
			}
		}
		got.Order, want.Order = nil, nil
		if g, w := fmt.Sprintf("%+v", got), fmt.Sprintf("%+v", want); g != w {
			t.Fatalf("got %s\nwant %s", g, w)
		}
	})
}

// Nothing breaks, and every index is one, whatever comes.
func TestAnyShots(t *testing.T) {
	odd := []float64{math.NaN(), math.Inf(1), 0, -1, 1e300}
	rapid.Check(t, func(t *rapid.T) {
		shots := make([]Shot, rapid.IntRange(0, 40).Draw(t, "shots"))
		for i := range shots {
			number := func(name string) float64 {
				if rapid.IntRange(0, 9).Draw(t, name+" is odd") == 0 {
					return rapid.SampledFrom(odd).Draw(t, name)
				}
				return rapid.Float64Range(-300, 300).Draw(t, name)
			}
			shots[i] = Shot{
				File:   rapid.SampledFrom([]string{"", "a0001", "a0002", "a0003", "b/a9999", "b/a0000", "x"}).Draw(t, "file"),
				At:     orb.Point{rapid.Float64Range(-1e4, 1e4).Draw(t, "x"), rapid.Float64Range(-1e4, 1e4).Draw(t, "y")},
				Height: number("height"), Altitude: number("altitude"), Clock: rapid.SampledFrom([]string{"GPS", "camera"}).Draw(t, "clock"),
			}
			if rapid.IntRange(0, 30).Draw(t, "timed") > 0 {
				shots[i].Time = morning.Add(time.Duration(rapid.IntRange(-90000, 90000).Draw(t, "time")) * time.Millisecond)
			}
		}
		tr := Of(shots, []string{"a0002"})
		if sorted := slices.Sorted(slices.Values(tr.Order)); len(sorted) != len(shots) || len(sorted) > 0 && (sorted[0] != 0 || len(slices.Compact(sorted)) != len(shots)) {
			t.Fatalf("order %v", tr.Order)
		}
		next := 0
		for _, f := range tr.Flights {
			if f.First != next || f.Last < f.First {
				t.Fatalf("flights %+v", tr.Flights)
			}
			next = f.Last + 1
		}
		if next != len(shots) {
			t.Fatalf("flights %+v of %d", tr.Flights, len(shots))
		}
		for _, l := range tr.Lines {
			f := tr.Flights[l.Flight]
			if len(l.Shots) < 3 || !slices.IsSorted(l.Shots) || l.Shots[0] < f.First || l.Shots[len(l.Shots)-1] > f.Last || l.Speed < 0 || math.IsInf(l.Speed, 0) {
				t.Fatalf("line %+v of %+v", l, f)
			}
		}
		for _, m := range tr.Missing {
			if m.Count < 1 || m.Count > mostMissing || m.Before != m.After+1 {
				t.Fatalf("missing %+v", m)
			}
		}
		if len(tr.Phases) != len(shots) || slices.Contains(tr.Phases, "") {
			t.Fatalf("phases %v", tr.Phases)
		}
	})
}

func BenchmarkOf(b *testing.B) {
	s := usual
	s.lines, s.shots, s.whole = 100, 100, true
	shots, _ := s.fly()
	noise(shots, 0.5)
	random := rand.New(rand.NewPCG(3, 4))
	random.Shuffle(len(shots), func(i, j int) { shots[i], shots[j] = shots[j], shots[i] })
	for b.Loop() {
		Of(shots, nil)
	}
}
