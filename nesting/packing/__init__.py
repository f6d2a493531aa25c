"""The engine: parts and stock sizes in, cutting trees and a bound out. It knows no files or screens."""
