"""What is typed: settings, runs, flights, supports, assemblies, prices and limits; and the job built from them."""
