package coverage

import (
	"cmp"
	"math"
	"slices"
	"strings"

	"selvage/boundary/finding"
	"selvage/boundary/plane"
	"selvage/coverage/terrain"
)

// muchHidden is the share of a footprint from which ground that ridges hide is
// worth a word: less is within what the estimate is worth.
const muchHidden = 0.01

// terrain says what the footprints are drawn on.
func (j *judgement) terrain(job Job, r *relief, used []*candidate) {
	if r == nil || len(used) == 0 {
		return
	}
	kinds := kindsOf(job.Terrain.Sources())
	const most = 4
	for i, k := range kinds[:min(most, len(kinds))] {
		var drawn finding.Text
		if i == 0 {
			drawn = r.words(used)
		}
		j.note(finding.TerrainSource, rounded(k.Resolution), "m", finding.Sentences(
			finding.Say("Terrain: %s (%s, %s), a height every %s; %s.", listed(k.names), k.Format, k.System, finding.Length(k.Resolution), k.datum()), k.Caveat, drawn))
	}
	missing, first := 0, 0
	for i, c := range slices.Backward(used) {
		if c.unmapped {
			missing, first = missing+1, i
		}
	}
	if missing > 0 {
		f := j.say(finding.TerrainMissing, finding.Note, float64(missing), "photos", finding.Either(missing == 1,
			finding.Say("1 photo sees ground beyond the terrain, or where its height is not known; the ground under it is taken as level."),
			finding.Say("%s photos see ground beyond the terrain, or where its height is not known; the ground under them is taken as level.", finding.Whole(missing))))
		p := plane.WrapPoint(used[first].Position)
		f.Place = f.Place.At(p[0], p[1])
	}
	hidden, worst := 0, 0
	for i, c := range used {
		hidden += one(c.hidden >= muchHidden)
		if c.hidden > used[worst].hidden {
			worst = i
		}
	}
	if hidden > 0 {
		f := j.say(finding.HiddenGround, finding.Note, float64(hidden), "photos",
			finding.Say("Ridges or steps hide ground within the footprints of %s, about %s of one at most (%s); it counts as seen.",
				photos(hidden), finding.Share(used[worst].hidden), used[worst].File))
		p := plane.WrapPoint(used[worst].Position)
		f.Place = f.Place.At(p[0], p[1])
	}
}

// words says how footprints are drawn on the terrain.
func (r *relief) words(used []*candidate) finding.Text {
	level := 0
	for _, c := range used {
		level += one(c.level)
	}
	off := finding.Say("%s", finding.Close(r.Misfit().RMS))
	if r.Misfit().RMS < 0.01 {
		off = finding.Say("less than %s", finding.Close(0.01))
	}
	return finding.Sentences(
		finding.Say("It is drawn as a surface with a height every %s, which lies %s (RMS) off it in between; that counts as an error of height.",
			finding.Length(r.Spacing()), off),
		finding.Say("Where the ground that a photo sees varies by no more than %s of its height (%s of %s), it is taken as level at the height midway; an overlap of %s is then right to %s percentage points.",
			finding.Share(levelEnough), finding.Whole(level), photos(len(used)), finding.Share(0.75), finding.Decimal("%g", 0.3)))
}

// kind is terrain files that differ by their names alone.
type kind struct {
	terrain.Source
	names []string
}

// kindsOf gathers the sources by kind, the finest first.
func kindsOf(sources []terrain.Source) []kind {
	var kinds []kind
	for _, s := range sources {
		i := slices.IndexFunc(kinds, func(k kind) bool {
			return k.Format == s.Format && k.System == s.System && k.Datum == s.Datum && k.Unit == s.Unit && k.Caveat.String() == s.Caveat.String() &&
				math.Abs(k.Resolution-s.Resolution) < 0.02*s.Resolution
		})
		if i < 0 {
			i, kinds = len(kinds), append(kinds, kind{Source: s})
		}
		kinds[i].names = append(kinds[i].names, s.Name)
	}
	slices.SortStableFunc(kinds, func(a, b kind) int { return cmp.Compare(a.Resolution, b.Resolution) })
	return kinds
}

// datum says what the heights count from and in which unit they are.
func (k kind) datum() finding.Text {
	datum := strings.TrimSuffix(k.Datum, ".")
	if datum == "" {
		return finding.Say("the file does not say what its heights count from (%s)", k.Unit)
	}
	return finding.Say("heights by %s (%s)", datum, k.Unit)
}
