"""Pictures of a result.  Heavy libraries are imported only when something is drawn."""
