package survey

import "strings"

// The words that laboratories write over their columns, in the languages that
// reports come in. Common practice, no source.
var headingWords = map[string][]string{
	"sample": {"sample", "sample id", "sample no", "sample no.", "sample number", "sample name", "sample ref", "sample reference", "sample identification",
		"client sample id", "client sample", "client sample no", "client id", "client ref", "client reference", "customer sample id", "field sample id", "field id", "field no", "field number", "your reference", "your ref",
		"Probe", "Probe-Nr.", "Proben-Nr.", "Probennummer", "Probenummer", "Probenbezeichnung", "Probenkennung", "Kundenprobe", "Ihre Probe", "Ihre Bezeichnung",
		"échantillon", "n° échantillon", "numéro d'échantillon", "référence échantillon", "code échantillon", "référence client",
		"muestra", "nº muestra", "número de muestra", "código de muestra", "identificación de la muestra", "referencia cliente",
		"campione", "codice campione", "numero campione", "n. campione", "monster", "monsternummer", "monstercode", "amostra", "código da amostra"},
	"analyte": {"analyte", "analyte name", "compound", "compound name", "substance", "parameter", "component", "contaminant", "chemical", "chemical name", "determinand",
		"Analyt", "Stoff", "Gefahrstoff", "Substanz", "Verbindung", "Komponente", "composé", "paramètre", "agent chimique", "polluant",
		"analito", "sustancia", "compuesto", "parámetro", "contaminante", "analita", "sostanza", "composto", "parametro", "stof", "verbinding", "substância"},
	"cas": {"cas", "cas no", "cas no.", "cas number", "cas rn", "casrn", "cas registry number", "CAS-Nr.", "CAS-Nummer", "n° CAS", "numéro CAS", "nº CAS", "número CAS", "numero CAS", "cas #"},
	"result": {"result", "results", "reported result", "final result", "amount", "amount found", "mass", "mass found", "mass on sample", "quantity", "quantity found", "found", "value", "conc", "concentration", "loading",
		"Ergebnis", "Messwert", "Menge", "Masse", "Gehalt", "Befund", "Wert", "Konzentration", "résultat", "quantité", "masse", "valeur", "teneur",
		"resultado", "cantidad", "masa", "valor", "concentración", "risultato", "quantità", "massa", "valore", "concentrazione",
		"resultaat", "hoeveelheid", "gehalte", "waarde", "concentratie", "quantidade"},
	"unit": {"unit", "units", "result unit", "result units", "unit of measure", "uom", "Einheit", "Maßeinheit", "unité", "unités", "unidad", "unidades", "unità", "unità di misura", "eenheid", "unidade"},
	"reporting_limit": {"rl", "reporting limit", "report limit", "rpt limit", "reporting level", "lor", "limit of reporting", "mrl", "loq", "limit of quantitation", "limit of quantification", "quantitation limit", "pql",
		"BG", "Bestimmungsgrenze", "Berichtsgrenze", "LQ", "limite de quantification", "límite de cuantificación", "límite de notificación", "LC",
		"limite di quantificazione", "rapportagegrens", "bepalingsgrens", "limite de quantificação"},
	"qualifier": {"qualifier", "qualifiers", "flag", "flags", "qual", "q", "data qualifier", "lab qualifier", "Kennzeichen", "qualificatif", "calificador", "marca", "qualificatore", "kwalificatie",
		"sign", "prefix", "operator", "Vorzeichen", "signe", "signo", "segno"},
	"section": {"section", "tube section", "part", "layer", "portion", "Teil", "Abschnitt", "Schicht", "Röhrchenteil", "zone", "plage", "partie", "couche", "sección", "parte", "zona", "sezione", "deel", "sectie", "laag"},
	"form":    {"form", "fraction", "size fraction", "Fraktion", "Staubfraktion", "fracción", "frazione", "fractie", "fração"},
	"lab_volume_l": {"volume", "air volume", "air vol", "sample volume", "sampled volume", "volume sampled", "Luftvolumen", "Probeluftvolumen", "Volumen", "volume d'air", "volumen de aire", "volumen",
		"volume d'aria", "luchtvolume", "volume de ar"},
	"desorption": {"desorption", "desorption efficiency", "desorption eff", "recovery", "Desorption", "Desorptionsrate", "Wiederfindung", "Wiederfindungsrate", "taux de désorption", "rendement de désorption",
		"eficiencia de desorción", "recuperación", "recupero", "terugvinding"},
	"cv":       {"cv", "coefficient of variation", "Variationskoeffizient", "coefficient de variation", "coeficiente de variación", "coefficiente di variazione"},
	"method":   {"method", "analytical method", "analysis method", "test method", "Methode", "Verfahren", "Analysenverfahren", "Analyseverfahren", "méthode", "método", "metodo", "analysemethode"},
	"report":   {"report", "report no", "report no.", "report number", "lab report", "Bericht", "Berichtsnummer", "Prüfbericht", "rapport", "n° rapport", "informe", "nº informe", "rapporto", "rapportnummer"},
	"received": {"received", "date received", "received date", "receipt date", "Eingang", "Eingangsdatum", "Probeneingang", "reçu", "date de réception", "recibido", "fecha de recepción", "data ricevimento", "ontvangen"},
	"analysed": {"analysed", "analyzed", "date analysed", "date analyzed", "analysis date", "date of analysis", "Analysedatum", "Analysendatum", "date d'analyse", "fecha de análisis", "data analisi", "data di analisi"},
	"note":     {"note", "notes", "comment", "comments", "remark", "remarks", "Bemerkung", "Bemerkungen", "Bem.", "Notiz", "Anmerkung", "Kommentar", "remarque", "remarques", "commentaire", "observación", "observaciones", "nota", "opmerking"},
	Unused: {"lab id", "lab no", "lab no.", "lab number", "lab sample id", "lab sample no", "laboratory id", "laboratory number", "lims id", "lims no", "Labor-Nr.", "Labornummer", "Auftrag", "Auftragsnummer", "n° labo", "nº laboratorio",
		"order", "order no", "work order", "job", "job no", "project", "client", "customer", "site", "matrix", "medium", "media", "analyst", "instrument", "dilution", "dilution factor", "df", "batch", "qc batch",
		"sampled", "date sampled", "sampling date", "sample date", "date collected", "collected", "Probenahme", "Probenahmedatum", "date de prélèvement", "fecha de muestreo", "data prelievo",
		"description", "line", "row", "no", "no.", "nr", "nr.", "lfd. Nr.", "#", "uncertainty", "measurement uncertainty", "Messunsicherheit", "incertitude", "incertidumbre", "incertezza",
		"sample type", "type", "qc type", "Probenart", "Probentyp", "type d'échantillon", "tipo de muestra"},
	detectionLimit: {"lod", "mdl", "dl", "detection limit", "limit of detection", "method detection limit", "NWG", "Nachweisgrenze", "LD", "limite de détection", "límite de detección", "limite di rilevabilità", "detectielimiet"},
	sumOfSections:  {"total", "sum", "Summe", "Gesamt", "Gesamtmenge", "somme", "suma", "totale", "somma", "totaal", "total mass", "total amount", "total found"},
}

// What a heading may be besides a column of the lab table.
const (
	detectionLimit = "detection limit"
	sumOfSections  = "sum of sections"
)

// clientWords tell the number that the client gave a sample from the
// laboratory's own.
var clientWords = []string{"client", "customer", "field", "your", "kunde", "ihre"}

// sectionWords are the words for the parts of a tube and the weighings of a
// filter.
var sectionWords = map[string][]string{
	"front": {"front", "front section", "f", "main", "vorn", "vorne", "Vorderteil", "Hauptschicht", "avant", "frontal", "delantera", "anteriore", "voor", "voorste"},
	"back":  {"back", "back section", "b", "rear", "backup", "hinten", "Rückteil", "Kontrollschicht", "arrière", "trasera", "posteriore", "achter", "achterste"},
	"pre":   {"pre", "pre-weight", "preweight", "tare", "initial weight", "Leergewicht", "Vorgewicht", "poids initial", "peso inicial", "peso iniziale"},
	"post":  {"post", "post-weight", "postweight", "gross", "final weight", "Endgewicht", "Auswaage", "poids final", "peso final", "peso finale"},
}

// qualifierMeanings are letters and words beside or in place of a result.
var qualifierMeanings = map[string][]string{
	"not-detected": {"U", "ND", "N.D.", "n.n.", "n. n.", "BDL", "BRL", "BQL", "not detected", "none detected", "nicht nachweisbar", "nicht nachgewiesen", "non détecté", "no detectado", "non rilevato", "niet aangetoond",
		"<RL", "<LOD", "<LOQ", "<MRL", "<BG", "<NWG", "<LQ", "<LD", "UJ"},
	"under":      {"<"},
	"over":       {">"},
	"estimated":  {"J", "estimated", "geschätzt", "estimé", "estimée", "estimado", "stimato", "geschat"},
	"over-range": {"E"},
	"diluted":    {"D"},
	"in-blank":   {"B"},
}

// unitCarriers are what a mass may be said to be on, besides those that lab
// tables know.
var unitCarriers = []string{"probe", "röhrchen", "sammler", "träger", "échantillon", "prélèvement", "muestra", "tubo", "campione", "fiala", "monster", "buis", "amostra", "filtre", "filtro", "abs", "absolut", "total"}

// Words that begin rows which are no results of samples.
var (
	totalWords = []string{"total", "sum", "summe", "gesamt", "somme", "suma", "totale", "somma", "totaal", "mean", "average", "mittelwert", "moyenne", "promedio", "media", "gemiddelde"}
	controls   = []string{"method blank", "lab blank", "laboratory blank", "reagent blank", "lcs", "lcsd", "ccv", "icv", "qc", "matrix spike", "spike", "kontrollprobe", "laborblindwert", "témoin labo", "control de calidad"}
)

var (
	columnOfWord  = wordIndex(headingWords)
	sectionOfWord = wordIndex(sectionWords)
)

// wordIndex returns what each word stands for, by the word simplified.
func wordIndex(words map[string][]string) map[string]string {
	index := map[string]string{}
	for meant, all := range words {
		for _, word := range all {
			index[simplify(word)] = meant
		}
	}
	return index
}

// meaningOfWord returns the meaning of a qualifier that laboratories share, ""
// where there is none.
func meaningOfWord(word string) string {
	for meant, all := range qualifierMeanings {
		for _, known := range all {
			if strings.EqualFold(strings.ReplaceAll(known, " ", ""), strings.ReplaceAll(word, " ", "")) {
				return meant
			}
		}
	}
	return ""
}

// labUnitText returns the unit of the lab table that a text means.
func labUnitText(text string) (unit string, ok bool) {
	if u, known := ParseLabUnit(text); known {
		return u.Name, true
	}
	mass, carrier, cut := strings.Cut(text, "/")
	if !cut {
		mass, carrier, cut = strings.Cut(text, " ")
	}
	for _, known := range unitCarriers {
		if cut && simplify(carrier) == simplify(known) {
			u, ok := ParseLabUnit(mass)
			return u.Name, ok && u.Quantity != Concentration
		}
	}
	return "", false
}
