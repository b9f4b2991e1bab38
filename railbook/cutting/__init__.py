"""Which boards to cut, and how: least cost, then least waste, on plain numbers that know no railing."""
