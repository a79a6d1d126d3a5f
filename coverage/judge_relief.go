package coverage

import (
	"cmp"
	"fmt"
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
		text := fmt.Sprintf("Terrain: %s, a height every %s; %s.", k.words(), metresFine(k.Resolution), k.datum())
		if k.Caveat != "" {
			text += " " + k.Caveat
		}
		if i == 0 {
			text += " " + r.words(used)
		}
		j.note(finding.TerrainSource, rounded(k.Resolution), "m", "%s", text)
	}
	missing, first := 0, 0
	for i, c := range slices.Backward(used) {
		if c.unmapped {
			missing, first = missing+1, i
		}
	}
	if missing > 0 {
		f := j.say(finding.TerrainMissing, finding.Note, float64(missing), "photos",
			"%s %s ground beyond the terrain, or where its height is not known; the ground under %s is taken as level.",
			counted(missing, "photo", "photos"), choose(missing, "sees", "see"), choose(missing, "it", "them"))
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
			"Ridges or steps hide ground within the footprints of %s, about %s of one at most (%s); it counts as seen.",
			counted(hidden, "photo", "photos"), percent(used[worst].hidden), used[worst].File)
		p := plane.WrapPoint(used[worst].Position)
		f.Place = f.Place.At(p[0], p[1])
	}
}

// words says how footprints are drawn on the terrain.
func (r *relief) words(used []*candidate) string {
	level := 0
	for _, c := range used {
		level += one(c.level)
	}
	return fmt.Sprintf("It is drawn as a surface with a height every %s, which lies %s (RMS) off it in between; that counts as an error of height. "+
		"Where the ground that a photo sees varies by no more than %g %% of its height (%d of %s), it is taken as level at the height midway; an overlap of 75 %% is then right to 0.3 percentage points.",
		metresFine(r.Spacing()), chooseIf(r.Misfit().RMS < 0.01, "less than 1 cm", metresFine(r.Misfit().RMS)), 100*levelEnough, level, counted(len(used), "photo", "photos"))
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
			return k.Format == s.Format && k.System == s.System && k.Datum == s.Datum && k.Unit == s.Unit && k.Caveat == s.Caveat &&
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

func (k kind) words() string {
	return fmt.Sprintf("%s (%s, %s)", listed(k.names), k.Format, k.System)
}

// datum says what the heights count from and in which unit they are.
func (k kind) datum() string {
	datum := strings.TrimSuffix(k.Datum, ".")
	if datum == "" {
		return fmt.Sprintf("the file does not say what its heights count from (%s)", k.Unit)
	}
	return fmt.Sprintf("heights by %s (%s)", datum, k.Unit)
}
