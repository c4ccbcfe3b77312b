package cook

import (
	"bagwatch/internal/heat"
	"bagwatch/internal/quantity"
)

// WaterHistory is the bath of a diary as one of the estimates takes it, without the margin, for tests.
func WaterHistory(d Diary, setpoint quantity.Temperature, careful bool, film heat.Film) (heat.History, error) {
	p, err := d.follow(setpoint, careful)
	if err != nil {
		return nil, err
	}
	return p.history(0, film, film), nil
}
