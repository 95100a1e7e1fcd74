"""Invented people. Given and family names are common ones of eight countries, paired by chance."""

from __future__ import annotations

from datetime import date, timedelta

import numpy as np

from zonule.case.patient import Patient, Sex

SURGEON = "Odile Thornby"

_DAYS_PER_YEAR = 365.25

_NAMES: tuple[tuple[tuple[str, ...], tuple[str, ...], tuple[str, ...]], ...] = (
    # women's given names, men's given names, family names
    (
        ("Aino", "Helmi", "Kerttu", "Sisko", "Tuulikki"),
        ("Arvo", "Eino", "Taisto", "Urho", "Veikko"),
        ("Haapala", "Kivelä", "Laitila", "Niskanen", "Rautio", "Suhonen"),
    ),
    (
        ("Benedita", "Celeste", "Graça", "Lurdes", "Rosalina"),
        ("Adelino", "Custódio", "Firmino", "Joaquim", "Valdemar"),
        ("Azevedo", "Carvalhal", "Figueira", "Lameira", "Salgueiro", "Tavares"),
    ),
    (
        ("Bronisława", "Danuta", "Halina", "Jadwiga", "Wanda"),
        ("Bogdan", "Czesław", "Ignacy", "Mieczysław", "Zenon"),
        ("Borowiec", "Gajda", "Kaczor", "Olszewik", "Sikora", "Wrona"),
    ),
    (
        ("Abena", "Adwoa", "Efua", "Esi", "Yaa"),
        ("Kobina", "Kwabena", "Kwaku", "Yaw", "Kojo"),
        ("Adjei", "Amponsah", "Badu", "Darko", "Owusu", "Tetteh"),
    ),
    (
        ("Fumiko", "Hatsue", "Kiyoko", "Setsuko", "Toshiko"),
        ("Isamu", "Kazuo", "Masaru", "Noboru", "Shigeru"),
        ("Arakawa", "Hosoda", "Kitagawa", "Nishida", "Shibuya", "Uchida"),
    ),
    (
        ("Bhanumati", "Kamala", "Leela", "Sarojini", "Vimala"),
        ("Govind", "Harish", "Madhav", "Raghunath", "Suresh"),
        ("Apte", "Deshmukh", "Kulkarni", "Nambiar", "Pillai", "Shenoy"),
    ),
    (
        ("Aoife", "Bríd", "Eithne", "Nuala", "Sorcha"),
        ("Cathal", "Eamonn", "Fergus", "Lorcan", "Oisín"),
        ("Brannigan", "Corrigan", "Gilhooly", "Heffernan", "Mulcahy", "Tierney"),
    ),
    (
        ("Amparo", "Dolores", "Encarnación", "Pilar", "Remedios"),
        ("Anselmo", "Eusebio", "Fermín", "Hilario", "Teófilo"),
        ("Arriaga", "Cifuentes", "Ledesma", "Montalvo", "Quiroga", "Zamudio"),
    ),
)


def invented_people(rng: np.random.Generator, ages_years: list[float], today: date) -> list[Patient]:
    """One invented patient for each age, no two of the same name.

    Parameters
    ----------
    rng
        Source of chance.
    ages_years
        Age of each on `today`, years.
    today
        The day on which they have these ages.

    Returns
    -------
    list of Patient
        Keys ``demo-0001`` and on.
    """
    pool = [
        (f"{given} {family}", sex)
        for women, men, families in _NAMES
        for sex, givens in ((Sex.FEMALE, women), (Sex.MALE, men))
        for given in givens
        for family in families
    ]
    chosen = rng.permutation(len(pool))[: len(ages_years)]
    return [
        Patient(
            key=f"demo-{number:04d}",
            name=pool[place][0],
            born_on=today - timedelta(days=round(age * _DAYS_PER_YEAR)),
            sex=pool[place][1],
        )
        for number, (place, age) in enumerate(zip(chosen, ages_years, strict=True), start=1)
    ]
