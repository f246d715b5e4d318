"""Invented tariffs that show how one is written, each with a worked bill; nobody is charged these prices."""
