"""From a project to its takeoff: routes, footage, fill, power, labor and price."""
