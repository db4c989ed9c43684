package survey

// A part of a workbook or a member of an archive that unfolds to more than this
// many times its packed size is no sheet: those shrink to a tenth or a
// thirtieth. Small ones may.
const (
	mostUnfolding = 200
	smallPart     = 64 << 20
)
