package desktop

import (
	"testing"
	"time"
)

func TestTheComputersZoneHasItsName(t *testing.T) {
	for link, want := range map[string]string{
		"/usr/share/zoneinfo/Europe/Lisbon":                        "Europe/Lisbon",
		"../usr/share/zoneinfo/Etc/UTC":                            "Etc/UTC",
		"/var/db/timezone/zoneinfo/America/Argentina/Buenos_Aires": "America/Argentina/Buenos_Aires",
		"/usr/share/zoneinfo/":                                     time.Local.String(),
		"/usr/share/zoneinfo/../../secret":                         time.Local.String(),
		"/etc/somewhere/else":                                      time.Local.String(),
	} {
		if got := zoneOf(link).String(); got != want {
			t.Errorf("%s: %s, want %s", link, got, want)
		}
	}
	zone := Zone()
	for _, at := range []time.Time{time.Date(2026, 1, 15, 12, 0, 0, 0, time.UTC), time.Date(2026, 7, 15, 12, 0, 0, 0, time.UTC)} {
		_, want := at.In(time.Local).Zone()
		if _, got := at.In(zone).Zone(); got != want {
			t.Errorf("%s is %d s off this computer's clock", zone, got-want)
		}
	}
}
