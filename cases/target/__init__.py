"""The appliance that gives a wanted force system: ``wireslot target``."""
