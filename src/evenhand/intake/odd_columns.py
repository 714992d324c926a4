"""Columns that look like values and are none that can be kept as they are: in a unit that is not read, averages and forecasts,
rows of more than one person."""

from __future__ import annotations

from collections.abc import Sequence

from evenhand.errors import BadFile, Place
from evenhand.intake import words
from evenhand.intake.ask import Asked
from evenhand.intake.facts import Facts
from evenhand.intake.words import fold

DERIVED = words.word_set(
    "average,avg,mean,median,minimum,maximum,min,max,target,goal,predicted,prediction,forecast,projected,standard deviation,std dev,std,sd,cv,"
    "durchschnitt,mittelwert,mittel,zielwert,ziel,prognose,vorhersage,moyenne,médiane,cible,objectif,prévision,promedio,media,objetivo,previsión,"
    "previsione,média,meta,previsão,gemiddelde,doel,voorspelling,medel,medelvärde,mål,gennemsnit,gjennomsnitt,keskiarvo,tavoite,średnia,cel,průměr,cíl,"
    "среднее,цель,прогноз,ortalama,hedef,平均,目標,予測,平均值,目标,예측,평균,목표"
)
PERSONS = words.word_set(
    "patient,patient id,patient name,patientid,person,user,user id,user name,username,subject,subject id,participant,participant id,member,first name,"
    "last name,surname,name,full name,vorname,nachname,benutzer,prénom,nom,utilisateur,paciente,nombre,apellido,usuario,paziente,nome,cognome,utente,"
    "patiënt,naam,gebruiker,namn,användare,navn,bruger,bruker,potilas,nimi,käyttäjä,pacjent,imię,nazwisko,jméno,příjmení,пациент,имя,фамилия,hasta,isim,"
    "患者,氏名,姓名,이름,환자"
)
_MOST_PERSONS = 8


def refuse_other_unit(column: str, unit: str, place: Place) -> BadFile:
    """A column of values in a unit that is not read: nothing is multiplied unasked."""
    factor = {"g/l": "1 g/L is 100 mg/dL", "mg/l": "10 mg/L are 1 mg/dL"}.get(unit.lower().replace(" ", ""))
    return BadFile(
        f"The column '{column}' is in {unit}, and only mg/dL and mmol/L are read.",
        f"Convert it in a spreadsheet{f' ({factor})' if factor else ''}, or say --set unit=UNIT where the name is wrong.",
        place,
    )


def derived(name: str) -> bool:
    """Whether a column's name says an average, an aim or a forecast rather than a value that was measured.

    >>> derived("Average glucose mg/dL"), derived("Target range low"), derived("Sensor glucose"), derived("Minute")
    (True, True, False, False)
    """
    padded = f" {fold(name)} "
    return any(
        f" {word} " in padded or (not word.isascii() and len(word) > 1 and word in padded) for word in DERIVED
    )


def ask_derived(names: Sequence[str]) -> Asked:
    """The question for a table whose only values are derived ones."""
    listed = " and ".join(f"'{name}'" for name in names)
    return Asked(
        "derived-values",
        f"{listed} {'holds' if len(names) == 1 else 'hold'} averages, aims or forecasts by name, not values as they were measured. Take them all the same?",
        tuple(names),
        "value=COLUMN",
    )


def persons(facts: Sequence[Facts], free: Sequence[int]) -> Facts | None:
    """The column that names more than one person, None where there is none."""
    for fact in facts:
        if (
            fact.index in free
            and fold(fact.name) in PERSONS
            and 2 <= fact.distinct <= _MOST_PERSONS
            and fact.filled > 0.5 * fact.rows
            and fact.filled > fact.distinct
        ):
            return fact
    return None


def ask_person(fact: Facts) -> Asked:
    """Whose rows are to be taken, where a column names several."""
    known = tuple(word.strip() for word in fact.counts)
    return Asked(
        "person",
        f"The column '{fact.name}' names {len(known)} people: {', '.join(known)}. Whose rows belong to this trial? The others are set aside.",
        known,
        "person=NAME",
    )
