package store

import (
	"ledgerwheel/domain/customer"
	"ledgerwheel/domain/watch"
)

const customerFields = `c.id, c.name, c.phone, c.phone_e164, c.email, c.address, c.notes, c.preferred_contact`

func customerTargets(c *customer.Customer) []any {
	return []any{&c.ID, &c.Name, &c.Phone, &c.PhoneE164, &c.Email, &c.Address, &c.Notes, &c.PreferredContact}
}

const watchFields = `w.id, w.maker, w.model, w.reference, w.serial, w.movement_serial, coalesce(w.calibre_id, 0), w.calibre_name,
	w.case_material, w.strap, w.lume, w.winding, w.water_resistance, w.overpressure_bar, w.crown_at, w.notes`

func watchTargets(w *watch.Watch) []any {
	return []any{&w.ID, &w.Maker, &w.Model, &w.Reference, &w.Serial, &w.MovementSerial, &w.CalibreID, &w.CalibreName,
		&w.CaseMaterial, &w.Strap, &w.Lume, &w.Winding, &w.WaterResistanceMarked, &w.OverpressureBar, &w.CrownAt, &w.Notes}
}

const calibreFields = `coalesce(k.id, 0), coalesce(k.name, ''), coalesce(k.maker, ''), coalesce(k.beats_per_hour, 0),
	coalesce(k.lift_angle_deg, 0), coalesce(k.power_reserve_hours, 0), coalesce(k.grade, '')`

func calibreTargets(k *watch.Calibre) []any {
	return []any{&k.ID, &k.Name, &k.Maker, &k.BeatsPerHour, &k.LiftAngleDeg, &k.PowerReserveHours, &k.GradeKey}
}
