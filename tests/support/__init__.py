"""What several tests share: small rulebooks, openings half known, a plain second reader."""
