package reports

import (
	"math"
	"strings"
	"time"

	"airtally/exposure/survey"
	"airtally/stats"
)

// form is what a cell holds.
type form uint8

const (
	missing form = iota
	isText
	isNumber
	isTruth
	isList
	isMoment
	isObject
	isObjects
)

// cell is one value of an output array, before any format gives it a look.
type cell struct {
	form   form
	text   string
	number float64 // of isNumber; 1 for a true isTruth
	mark   float64 // the figure that number is judged against; 0 where there is none
	few    bool    // number is an upper limit of too few shifts to say more than that
	list   []string
	moment *survey.Moment
	object *array // of isObject: one row, whose fields are the members; of isObjects: any
}

func text(s string) cell { return cell{form: isText, text: s} }

// number returns the cell of v. What JSON cannot say, an unbounded or
// undefined figure, is a missing one.
func number(v float64) cell {
	if math.IsInf(v, 0) || math.IsNaN(v) {
		return cell{}
	}
	if v == 0 {
		v = 0 // minus zero reads as a fault
	}
	return cell{form: isNumber, number: v}
}

func optional(o stats.Optional) cell {
	if !o.Known {
		return cell{}
	}
	return number(o.Value)
}

func truth(b bool) cell {
	if b {
		return cell{form: isTruth, number: 1}
	}
	return cell{form: isTruth}
}

// object returns the cell of a row with fields of its own; the missing cell
// where there is no row.
func object[R any](row *R, fields []field[R]) cell {
	if row == nil {
		return cell{}
	}
	headers := make([]header, len(fields))
	for i := range fields {
		headers[i] = fields[i].header
	}
	return cell{form: isObject, object: &array{fields: headers, rows: 1, cell: func(_, i int) cell { return fields[i].cell(row) }}}
}

// objects returns the cell of rows with fields of their own.
func objects[R any](of []R, fields []field[R]) cell {
	rows := arrayOf("", "", of, fields)
	return cell{form: isObjects, object: &rows}
}

func list(of []string) cell { return cell{form: isList, list: of} }

func moment(m *survey.Moment) cell {
	if !m.Known {
		return cell{}
	}
	return cell{form: isMoment, moment: m}
}

// count returns the cell of a whole number counted from 1, where 0 is unknown.
func count(n int) cell {
	if n == 0 {
		return cell{}
	}
	return number(float64(n))
}

// against returns c with the figure that it is judged against, which rounding
// for people must not reach or cross.
func (c cell) against(mark float64) cell {
	c.mark = mark
	return c
}

// ofFew notes whether a number is an upper limit that words tell better.
func (c cell) ofFew(few bool) cell {
	c.few = few
	return c
}

// where returns c if it applies, else the missing cell.
func (c cell) where(applies bool) cell {
	if !applies {
		return cell{}
	}
	return c
}

// words returns a text, list or moment as one text.
func (c cell) words() string {
	switch c.form {
	case isText:
		return c.text
	case isList:
		return strings.Join(c.list, "; ")
	case isMoment:
		return momentText(c.moment)
	default:
		return ""
	}
}

// momentText returns a moment as the files have it: RFC 3339 where the zone is
// known, else date and time of day as the survey gave them. Seconds stand
// only where there are some.
func momentText(m *survey.Moment) string {
	switch {
	case m.Bare && m.T.Second() != 0:
		return m.T.Format(time.TimeOnly)
	case m.Bare:
		return m.T.Format("15:04")
	case m.DateOnly:
		return m.T.Format(time.DateOnly)
	case m.Zoned:
		return m.T.Format(time.RFC3339)
	case m.T.Second() != 0:
		return m.T.Format(time.DateTime)
	default:
		return m.T.Format("2006-01-02 15:04")
	}
}
