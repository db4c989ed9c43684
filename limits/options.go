package limits

import "time"

// Sector chooses among the federal instruments that print different values.
type Sector string

const (
	General      Sector = "general"
	Construction Sector = "construction"
	Maritime     Sector = "maritime"
)

// PPMBasis is the air a concentration in ppm is stated for.
type PPMBasis string

const (
	AtNTP  PPMBasis = "ntp"  // 25 °C and 760 mmHg, as limits are
	AtSite PPMBasis = "site" // the site's temperature and pressure
)

// Options choose limits and conversions.
type Options struct {
	Authorities []string // the first governs
	Sector      Sector
	PPMBasis    PPMBasis
	MolarVolume float64   // L/mol at 25 °C and 760 mmHg
	On          time.Time // the day whose limits apply, as a rule that of sampling; zero: today
}

// DefaultOptions returns the options of a survey that states none.
func DefaultOptions() Options {
	return Options{
		Authorities: []string{"OSHA", "NIOSH"},
		Sector:      General,
		PPMBasis:    AtNTP,
		MolarVolume: 24.45,
	}
}
