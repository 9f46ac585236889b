"""Makes a profile from readings whose display somebody typed: proposed, proven, or refused."""
