package reports

import (
	"bytes"
	"fmt"
	"path"
	"regexp"
	"strings"

	"github.com/xuri/excelize/v2"
)

// Notes are kept in two parts of a workbook, the words and the drawing of
// their boxes. excelize adds notes only where both bear the same number and
// the boxes are numbered too, as its own are; other programs name them as they
// like. So before notes are added, the parts get such names. Nothing that a
// reader of the workbook sees depends on them.

// firstNumber is the number of the first part renamed, beyond any that
// excelize gives out itself.
const firstNumber = 9001

var (
	relation      = regexp.MustCompile(`<(?:\w+:)?Relationship\s[^>]*>`)
	attribute     = regexp.MustCompile(`\b(Id|Type|Target)="([^"]*)"`)
	legacyDrawing = regexp.MustCompile(`<(?:\w+:)?legacyDrawing\s[^>]*\bid="([^"]*)"`)
	shapeID       = regexp.MustCompile(`(<v:shape\s[^>]*?\bid=")([^"]*)(")`)
	numberedID    = regexp.MustCompile(`^_x0000_s[0-9]+$`)
)

// noteParts renames parts of a workbook.
type noteParts struct {
	file *excelize.File
	next int
}

// numberNotes gives the parts of notes the names that excelize expects. The
// workbook must have been opened and not yet read.
func numberNotes(f *excelize.File) {
	p := noteParts{f, firstNumber}
	var sheets []string
	f.Pkg.Range(func(name, _ any) bool {
		if part, ok := name.(string); ok && strings.HasPrefix(part, "xl/worksheets/_rels/") {
			sheets = append(sheets, part)
		}
		return true
	})
	for _, rels := range sheets {
		p.sheet(rels)
	}
}

func (p *noteParts) part(name string) []byte {
	content, _ := p.file.Pkg.Load(name)
	raw, _ := content.([]byte)
	return raw
}

// sheet renames the parts of one sheet's notes and drawings.
func (p *noteParts) sheet(rels string) {
	drawing := ""
	sheet := path.Join("xl/worksheets", strings.TrimSuffix(path.Base(rels), ".rels"))
	if found := legacyDrawing.FindSubmatch(p.part(sheet)); found != nil {
		drawing = string(found[1])
	}
	number := p.next
	p.next++
	changed := relation.ReplaceAllFunc(p.part(rels), func(element []byte) []byte {
		of := map[string]string{}
		for _, a := range attribute.FindAllSubmatch(element, -1) {
			of[string(a[1])] = string(a[2])
		}
		to := ""
		switch kind := path.Base(of["Type"]); {
		case kind == "comments":
			to = fmt.Sprintf("xl/comments%d.xml", number)
		case kind == "vmlDrawing" && of["Id"] == drawing:
			to = fmt.Sprintf("xl/drawings/vmlDrawing%d.vml", number)
		case kind == "vmlDrawing":
			to = fmt.Sprintf("xl/drawings/vmlDrawing%d.vml", p.next)
			p.next++
		default:
			return element
		}
		p.rename(path.Join("xl/worksheets", of["Target"]), of["Target"], to)
		return bytes.Replace(element, []byte(`Target="`+of["Target"]+`"`), []byte(`Target="..`+strings.TrimPrefix(to, "xl")+`"`), 1)
	})
	p.file.Pkg.Store(rels, changed)
}

// rename gives a part another name, in the list of types too.
func (p *noteParts) rename(from, target, to string) {
	if absolute, ok := strings.CutPrefix(target, "/"); ok {
		from = absolute
	}
	if raw := p.part(from); raw != nil {
		p.file.Pkg.Delete(from)
		p.file.Pkg.Store(to, numberShapes(raw))
	}
	fromRels := path.Join(path.Dir(from), "_rels", path.Base(from)+".rels")
	if raw := p.part(fromRels); raw != nil {
		p.file.Pkg.Delete(fromRels)
		p.file.Pkg.Store(path.Join(path.Dir(to), "_rels", path.Base(to)+".rels"), raw)
	}
	if types := p.file.ContentTypes; types != nil {
		for i := range types.Overrides {
			if types.Overrides[i].PartName == "/"+from {
				types.Overrides[i].PartName = "/" + to
			}
		}
		return
	}
	const list = "[Content_Types].xml"
	p.file.Pkg.Store(list, bytes.ReplaceAll(p.part(list), []byte(`"/`+from+`"`), []byte(`"/`+to+`"`)))
}

// numberShapes gives the boxes of a drawing numbered ids where they have
// others.
func numberShapes(drawing []byte) []byte {
	next := 900_000
	return shapeID.ReplaceAllFunc(drawing, func(found []byte) []byte {
		parts := shapeID.FindSubmatch(found)
		if numberedID.Match(parts[2]) {
			return found
		}
		next++
		return fmt.Appendf(nil, "%s_x0000_s%d%s", parts[1], next, parts[3])
	})
}
