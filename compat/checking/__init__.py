"""From a build and a goal to one report: settle, figures, rules, needs, opened joints."""
