package report

import (
	"time"

	"selvage/coverage"
)

type flightJSON struct {
	Start     *string `json:"start"` // RFC 3339, null when unknown
	End       *string `json:"end"`
	Photos    int     `json:"photos"`
	Lines     int     `json:"lines"`
	OnLine    int     `json:"on_line"`
	InTurn    int     `json:"in_turn"`
	InTransit int     `json:"in_transit"`
	InClimb   int     `json:"in_climb"`
	OnGround  int     `json:"on_ground"`
	Interval  rounded `json:"interval_s"`
}

// lineJSON numbers flights from 1, in the order of "flights".
type lineJSON struct {
	Flight  int     `json:"flight"`
	Photos  int     `json:"photos"`
	Used    int     `json:"used"`
	Course  rounded `json:"course_deg"`
	Length  rounded `json:"length_m"`
	Start   *string `json:"start"`
	Flown   rounded `json:"flown_s"`
	Speed   rounded `json:"speed_m_s"`
	Blur    rounded `json:"blur_speed_m_s"`
	Trigger rounded `json:"trigger_speed_m_s"`
	Allowed rounded `json:"allowed_m_s"`
	Limit   string  `json:"limit"`
	Spare   rounded `json:"spare_s"`
}

type speedJSON struct {
	MaxBlur   rounded    `json:"max_blur_px"`
	Trigger   rounded    `json:"trigger_s"` // null when not given
	Flown     rounded    `json:"flown_s"`
	Speed     rounded    `json:"speed_m_s"`
	Allowed   rounded    `json:"allowed_m_s"`
	Spare     rounded    `json:"spare_s"`
	BlurKnown int        `json:"blur_known"`
	Blurred   []blurJSON `json:"blurred"`
}

type blurJSON struct {
	File     string  `json:"file"`
	Blur     rounded `json:"blur_px"`
	Speed    rounded `json:"speed_m_s"`
	Exposure rounded `json:"exposure_s"`
}

type missedJSON struct {
	Kind   string  `json:"kind"`
	Count  int     `json:"count"`
	After  string  `json:"after"`
	Before string  `json:"before"`
	Lon    rounded `json:"lon"`
	Lat    rounded `json:"lat"`
	Time   *string `json:"time"`
	Flight int     `json:"flight"`
}

type weakJSON struct {
	First   string  `json:"first"`
	Second  string  `json:"second"`
	Overlap rounded `json:"overlap"`
	Apart   rounded `json:"apart_m"`
	Cause   string  `json:"cause"`
}

func mps(x float64) rounded     { return rounded{positive(x), 3} }
func seconds(x float64) rounded { return rounded{x, 3} }

func instant(t time.Time) *string {
	if t.IsZero() {
		return nil
	}
	s := t.UTC().Format(time.RFC3339Nano)
	return &s
}

// addFlown sets what the machine output says of flights and speed.
func (out *auditJSON) addFlown(a *coverage.Audit) {
	out.Flights, out.Lines, out.Missing, out.Overlap.Weakest = []flightJSON{}, []lineJSON{}, []missedJSON{}, []weakJSON{}
	for _, f := range a.Flights {
		out.Flights = append(out.Flights, flightJSON{
			instant(f.Start), instant(f.End), f.Photos, f.Lines, f.OnLine, f.InTurn, f.InTransit, f.InClimb, f.OnGround, seconds(positive(f.Interval)),
		})
	}
	for _, l := range a.Lines {
		v := l.Speed
		out.Lines = append(out.Lines, lineJSON{
			l.Flight + 1, v.Photos, len(l.Shots), rounded{l.Course, 3}, metres(v.Length), instant(v.Start), seconds(v.Flown),
			mps(v.Ground), mps(v.Blur), mps(v.Trigger), mps(v.Allowed), v.Limit, seconds(v.Spare),
		})
	}
	v := a.Speed
	out.Speed = speedJSON{
		rounded{positive(v.MaxBlur), 3}, seconds(positive(v.Trigger)), seconds(v.Flown), mps(v.Ground), mps(v.Allowed), seconds(v.Spare), v.BlurKnown, []blurJSON{},
	}
	for _, i := range v.Blurred {
		s := a.Shots[i]
		out.Speed.Blurred = append(out.Speed.Blurred, blurJSON{s.File, rounded{s.Blur, 3}, mps(s.Speed), rounded{s.ExposureTime, 6}})
	}
	for _, m := range a.Missed {
		out.Missing = append(out.Missing, missedJSON{
			m.Kind, m.Count, m.After, m.Before, longitude(m.Position), latitude(m.Position), instant(m.Time), m.Flight + 1,
		})
	}
	for _, w := range a.Weakest {
		out.Overlap.Weakest = append(out.Overlap.Weakest, weakJSON{w.First, w.Second, share(w.Overlap), metres(w.Apart), w.Cause.String()})
	}
}
