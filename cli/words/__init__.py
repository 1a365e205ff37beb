"""People's own words turned into services and complaints: search, spelling, slips of the fingers."""
