"""Hours and money: standard times, hours by week, costs, and what another plan would take."""
