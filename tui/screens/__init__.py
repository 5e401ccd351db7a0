"""Screens compose widgets and forward what they say."""
