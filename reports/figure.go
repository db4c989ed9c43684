package reports

import (
	"fmt"
	"html/template"
	"math"
	"strconv"
	"strings"
)

// figureWidth is how wide every figure is drawn, in its own units, which are
// pixels of a narrow screen: so its words can be read there and everywhere.
const figureWidth = 360.0

// drawing is a figure of the page in the making. Its marks tell by shape, not
// by colour; colours and dashes are those of the page's style sheet.
type drawing struct {
	body   strings.Builder
	height float64
	id     string
	title  string
	says   string // what it shows, for those who do not see it
}

func newDrawing(id, title string, height float64) *drawing {
	return &drawing{id: id, title: title, height: height}
}

// html returns the figure as it stands in the page.
func (d *drawing) html() template.HTML {
	id, say := template.HTMLEscapeString(d.id), template.HTMLEscapeString
	return template.HTML(fmt.Sprintf(`<svg viewBox="0 0 %s %s" role="img" aria-labelledby="%s-t %s-d"><title id="%s-t">%s</title><desc id="%s-d">%s</desc>%s</svg>`,
		coordinate(figureWidth), coordinate(d.height), id, id, id, say(d.title), id, say(d.says), d.body.String()))
}

func coordinate(v float64) string { return strconv.FormatFloat(math.Round(v*10)/10, 'f', -1, 64) }

// drawable reports whether all numbers are ones that a figure can hold.
func drawable(all ...float64) bool {
	for _, v := range all {
		if math.IsNaN(v) || math.Abs(v) > 1e6 {
			return false
		}
	}
	return true
}

func (d *drawing) line(class string, x1, y1, x2, y2 float64) {
	if drawable(x1, y1, x2, y2) {
		d.path(class, "M"+point(x1, y1)+"L"+point(x2, y2))
	}
}

func point(x, y float64) string { return coordinate(x) + " " + coordinate(y) }

func (d *drawing) path(class, path string) {
	fmt.Fprintf(&d.body, `<path class="%s" d="%s"/>`, class, path)
}

func (d *drawing) box(class string, x, y, w, h float64) {
	if drawable(x, y, w, h) && w >= 0 && h >= 0 {
		fmt.Fprintf(&d.body, `<rect class="%s" x="%s" y="%s" width="%s" height="%s"/>`, class, coordinate(x), coordinate(y), coordinate(w), coordinate(h))
	}
}

// Where a text stands beside its point.
const (
	fromHere = "" // it begins there
	aboutIt  = "mid"
	upToHere = "end"
)

// letter is about how wide a digit of a figure is.
const letter = 6.2

// words writes a text, cut to the room that it has.
func (d *drawing) words(class string, x, y float64, s string, room float64) {
	if !drawable(x, y) {
		return
	}
	s = shortened(s, room/letter)
	fmt.Fprintf(&d.body, `<text class="%s" x="%s" y="%s">%s</text>`, class, coordinate(x), coordinate(y), template.HTMLEscapeString(printable(s)))
}

// shortened returns a text of at most so many digits' width. It is cut in its
// middle: what tells names apart often stands at their end.
func shortened(s string, most float64) string {
	if inked(s) <= most {
		return s
	}
	all := []rune(s)
	for keep := len(all) - 1; keep > 1; keep-- {
		head, tail := all[:(keep+1)/2], all[len(all)-keep/2:]
		if cut := strings.TrimSpace(string(head)) + "…" + strings.TrimSpace(string(tail)); inked(cut) <= most {
			return cut
		}
	}
	return string(all[:1]) + "…"
}

// mark draws a point by its kind.
func (d *drawing) mark(kind markKind, x, y float64) {
	if !drawable(x, y) {
		return
	}
	const r = 3.6
	switch kind {
	case known:
		fmt.Fprintf(&d.body, `<circle class="pt" cx="%s" cy="%s" r="3.2"/>`, coordinate(x), coordinate(y))
	case over:
		d.path("pt", "M"+point(x, y-r-1)+"L"+point(x+r+1, y+r)+"L"+point(x-r-1, y+r)+"Z")
	case beneath:
		d.path("op", "M"+point(x-r, y-r+1)+"L"+point(x+r, y-r+1)+"L"+point(x, y+r)+"Z")
	case atLeast:
		d.path("op", "M"+point(x-r+1, y-r)+"L"+point(x-r+1, y+r)+"L"+point(x+r, y)+"Z")
	case unsettled:
		d.path("op", "M"+point(x, y-r-1)+"L"+point(x+r+1, y)+"L"+point(x, y+r+1)+"L"+point(x-r-1, y)+"Z")
	case hollow:
		fmt.Fprintf(&d.body, `<circle class="op" cx="%s" cy="%s" r="3"/>`, coordinate(x), coordinate(y))
	}
}

// markKind is what a mark says. Those of outcomes have the shapes of outcomeMarks.
type markKind uint8

const (
	known     markKind = iota // a measured value
	over                      // one above its limit
	beneath                   // known only to lie under it
	atLeast                   // known only to reach it
	hollow                    // a value of another time
	unsettled                 // one that may be above its limit or below it
)

// scale lays figures along a length, by their logarithms or as they are.
type scale struct {
	from, to   float64 // on the drawing
	low, high  float64 // figures there
	logarithms bool
}

// logScale covers positive figures by whole decades, at most so many below the
// highest.
func logScale(from, to float64, most int, all ...float64) scale {
	low, high := math.Inf(1), 0.0
	for _, v := range all {
		if positive(v) {
			low, high = math.Min(low, v), math.Max(high, v)
		}
	}
	if high == 0 {
		low, high = 0.1, 1
	}
	s := scale{from: from, to: to, low: decade(low*0.999, math.Floor), high: decade(high*1.001, math.Ceil), logarithms: true}
	if least := s.high / math.Pow(10, float64(most)); s.low < least {
		s.low = least
	}
	return s
}

func (s scale) at(v float64) float64 {
	low, high := s.low, s.high
	if s.logarithms {
		if v <= 0 {
			return s.from
		}
		v, low, high = math.Log10(v), math.Log10(low), math.Log10(high)
	}
	share := (v - low) / (high - low)
	return s.from + (s.to-s.from)*math.Max(0, math.Min(1, share))
}

// beyond reports whether a figure lies past the end of the scale.
func (s scale) beyond(v float64) bool { return v > s.high }

// decades returns the powers of ten on the scale.
func (s scale) decades() []float64 {
	var all []float64
	for e := math.Round(math.Log10(s.low)); e <= math.Round(math.Log10(s.high)); e++ {
		all = append(all, math.Pow(10, e))
	}
	return all
}

// tickText returns a figure of an axis.
func tickText(v float64) string {
	if v >= 1e6 || v != 0 && v < 1e-4 {
		return strconv.FormatFloat(v, 'e', -1, 64)
	}
	return strconv.FormatFloat(v, 'f', -1, 64)
}

// logAxis draws the decades of a scale across rows, with their figures under.
func (d *drawing) logAxis(s scale, top, bottom float64, show func(float64) string) {
	all := s.decades()
	every := 1 + (len(all)-1)/7
	for i, v := range all {
		x := s.at(v)
		d.line("gr", x, top, x, bottom)
		if i%every == 0 {
			d.words("ax mid", x, bottom+11, show(v), figureWidth)
		}
	}
	d.line("axl", s.from, bottom, s.to, bottom)
}
