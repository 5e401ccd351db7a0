"""The docket screen: the claims of a season, fastest first."""
