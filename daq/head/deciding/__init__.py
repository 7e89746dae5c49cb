"""From measurements to decisions: judged through the uncertainty, with the act that follows."""
